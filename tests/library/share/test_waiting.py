"""What was uploaded waits beside the workshop, whole, up to a number, until it is taken in or dropped."""

import pytest

from library import backup
from library.limits import WAITING
from library.share import waiting
from library.share.waiting import WaitingError
from library.store import Workshop
from tests.library.share.shops import LIFT, LOW


@pytest.fixture
def shop(tmp_path):
    return Workshop.open(tmp_path / "w")


FILES = (("../../evil.toml", LIFT.encode()), ("b" * 900, b"\x00\xff"))


def test_files_come_back_as_they_were_whatever_they_are_called(shop):
    key = waiting.keep(shop, FILES)
    assert waiting.files(shop, key) == ((FILES[0][0], FILES[0][1]), ("b" * 200, FILES[1][1]))
    assert {path.name for path in (shop.path / "incoming").iterdir()} == {key}
    assert {path.name for path in (shop.path / "incoming" / key).iterdir()} == {"0", "1", "index.json"}


def test_it_survives_a_restart_and_is_listed(shop):
    key = waiting.keep(shop, FILES)
    (found,) = waiting.every(Workshop(shop.path))
    assert (found.key, found.names[0]) == (key, FILES[0][0])


def test_the_same_upload_waits_once(shop):
    assert waiting.keep(shop, FILES) == waiting.keep(shop, FILES)
    assert len(waiting.every(shop)) == 1


def test_another_workshop_knows_nothing_of_it(shop, tmp_path):
    key = waiting.keep(shop, FILES)
    with pytest.raises(WaitingError, match="has been taken in or dropped"):
        waiting.files(Workshop.open(tmp_path / "other"), key)


def test_a_backup_holds_nothing_of_it(shop, tmp_path):
    waiting.keep(shop, FILES)
    backup.write(shop, tmp_path / "b.zip")
    assert LOW.encode() not in (tmp_path / "b.zip").read_bytes()
    assert len(backup.kept(tmp_path / "b.zip").macros) == len(shop.ids("macro"))


def test_one_that_is_dropped_is_gone_and_dropping_it_again_is_no_mistake(shop):
    key = waiting.keep(shop, FILES)
    waiting.drop(shop, key)
    waiting.drop(shop, key)
    assert list((shop.path / "incoming").iterdir()) == []


def test_no_more_wait_than_may(shop):
    for number in range(WAITING.most):
        waiting.keep(shop, [(f"{number}.toml", LIFT.encode())])
    with pytest.raises(WaitingError, match="there are 20 reviews in progress already"):
        waiting.keep(shop, [("more.toml", LIFT.encode())])
    assert len(waiting.every(shop)) == WAITING.most


@pytest.mark.parametrize("key", ["..", "../w", "0" * 15, "Z" * 16, "", "0" * 16 + "/x"])
def test_a_key_is_never_a_path(shop, key):
    for call in (waiting.files, waiting.drop):
        with pytest.raises(WaitingError, match="no such review"):
            call(shop, key)


@pytest.mark.parametrize("content", [b"", b"[]", b'{"format": "clickstop-incoming/9"}', b'{"names": 3}'])
def test_one_whose_index_is_damaged_is_said_and_can_be_dropped(shop, content):
    key = waiting.keep(shop, FILES)
    (shop.path / "incoming" / key / "index.json").write_bytes(content)
    with pytest.raises(WaitingError):
        waiting.files(shop, key)
    assert waiting.every(shop) == ()
    waiting.drop(shop, key)
    assert list((shop.path / "incoming").iterdir()) == []


def test_a_folder_that_cannot_be_written_is_said(shop):
    (shop.path / "incoming").write_text("a file")
    with pytest.raises(WaitingError, match="cannot be written"):
        waiting.keep(shop, FILES)
