"""JSON from outside comes as values that can be shown and reckoned with, or not at all."""

import pytest

from library import json_text


@pytest.mark.parametrize("content", ['{"a": [1, -2.5, "x", null, true, {}]}', b'{"a": [1, -2.5, "x", null, true, {}]}'])
def test_an_object_is_read(content):
    assert json_text.read(content) == {"a": [1, -2.5, "x", None, True, {}]}


def test_a_sign_beyond_the_first_plane_may_be_written_as_its_two_halves():
    assert json_text.read('{"a": "\\ud83d\\udd29"}') == {"a": "\U0001f529"}


@pytest.mark.parametrize(
    "content",
    [
        *("", "[]", "3", "null", '"x"', "{", '{"a": NaN}', '{"a": Infinity}', '{"a": 1e999}'),
        *('{"a": 1%s}' % ("0" * 400), '{"a": %s}' % ("9" * 5000), '{"a": "\\ud800"}', '{"\\udfff": 1}'),
        *("[" * 100_000, '{"a": ' * 100_000, b'{"a": "\xff"}', b'{"a": "\xed\xa0\x80"}', b"\xff\xfe{\x00}\x00"),
    ],
)
def test_what_cannot_be_shown_or_reckoned_with_is_not(content):
    with pytest.raises(json_text.UnreadableJsonError):
        json_text.read(content)


@pytest.mark.parametrize("content", [None, 3, 2.5])
def test_what_is_no_text_is_not(content):
    with pytest.raises(json_text.UnreadableJsonError):
        json_text.read(content)
