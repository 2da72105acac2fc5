"""A bundle is the same for the same input, says what its macros did and need, and is read back as it was written."""

import hashlib
import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from library import documents, written
from library.share import bundle, manifest
from library.share.manifest import BundleError
from tests.library.share.shops import LIFT, SHELF, document, files_of, made, mill, resealed, router
from tests.library.test_written import strict


def said(content):
    return json.loads(files_of(content)["manifest.json"])


def entry(content, id):
    return next(each for each in said(content)["macros"] if each["id"] == id)


def test_the_same_input_gives_the_same_bytes():
    assert made() == made()
    assert made(*reversed(SHELF)) == made()
    assert made("lift") != made("nudge")


def test_it_holds_the_documents_as_they_stand_with_their_comments():
    assert files_of(made("lift"))["macros/lift.toml"].decode() == LIFT


def test_what_a_macro_runs_comes_along_and_is_marked_as_not_asked_for():
    content = made("present")
    assert bundle.read(content).texts == {id: SHELF[id] for id in ("lift", "present")}
    assert (entry(content, "lift")["asked"], entry(content, "present")["asked"]) == (False, True)


def test_a_macro_that_is_run_and_not_there_stands_among_what_is_needed():
    content = made("present", shelf={"present": SHELF["present"]})
    assert entry(content, "present")["needs"]["macros"] == ["lift"]


def test_author_licence_purpose_and_tags_are_those_of_the_document():
    found = entry(made("present"), "lift")
    assert (found["author"], found["licence"], found["purpose"], found["tags"]) == (
        "A. Turner",
        "CC0-1.0",
        "Up.",
        ["up"],
    )


def test_figures_are_those_of_the_machine_it_comes_from():
    here, there = entry(made("lift"), "lift")["figures"], entry(made("lift", on=router()), "lift")["figures"]
    assert here["verdict"] == "proved"
    assert here["seconds"]["most"] > 0
    assert here["extents"]["z"] == [-90.0, 0.0]
    assert here != there


def test_a_refused_macro_goes_with_its_findings():
    figures = entry(made("low"), "low")["figures"]
    assert figures["verdict"] == "refused"
    assert {each["rule"] for each in figures["findings"]} >= {"crosses-keep-out"}


def test_a_macro_that_cannot_be_written_there_is_refused_there():
    shelf = {"wrong": document("wrong", {"block": "raise", "to": "keep_out.plate.top"})}
    figures = entry(made(shelf=shelf), "wrong")["figures"]
    assert figures["verdict"] == "refused"
    assert "keep_out.plate.top" in figures["sentence"]


def test_it_says_the_sheets_by_name_and_digest_and_what_each_landmark_is():
    found, bench = said(made("lift")), mill()
    assert found["sheets"]["machine"] == {"name": "Mill", "sha256": bench.digests["machine"]}
    assert found["landmarks"]["travel.y.max"] == 150.0
    assert found["travel"]["x"] == [0.0, 260.0]


def test_the_manifest_has_the_checksum_of_every_file_but_itself():
    content = made("present", draw=lambda proved: f"<svg>{proved.macro.id}</svg>".encode())
    files = files_of(content)
    digests = {path: hashlib.sha256(each).hexdigest() for path, each in files.items() if path != "manifest.json"}
    assert said(content)["files"] == digests
    assert set(files) == {
        "README.txt",
        "drawings/lift.svg",
        "drawings/present.svg",
        "macros/lift.toml",
        "macros/present.toml",
        "manifest.json",
    }


def test_the_readme_names_every_macro_its_licence_and_what_does_not_adapt():
    text = files_of(made())["README.txt"].decode()
    for id in SHELF:
        assert f"({id})" in text
    assert "CC-BY-4.0" in text
    assert "z <= -10 mm; this does not adapt" in text
    assert "Own lines: in step 2" in text
    assert max(map(len, text.splitlines())) <= 80


def test_the_manifest_is_as_its_schema_says():
    Draft202012Validator(strict(written.schema("bundle"))).validate(said(made()))


def test_the_schema_in_the_tree_is_that_of_the_classes():
    assert written.schema("bundle") == manifest.schema(), "write library/schemas/bundle.json anew"


def test_a_name_that_systems_keep_for_a_device_is_no_file_name_in_it():
    content = made(shelf={"con": document("con", {"block": "raise"})})
    assert "macros/macro-con.toml" in files_of(content)
    assert list(bundle.read(content).texts) == ["con"]


def test_one_that_is_not_there_or_none_at_all_is_said():
    with pytest.raises(BundleError, match=r"no macro 'gone' on the shelf; it has lift"):
        bundle.gather({"lift": LIFT}, mill(), ["gone"])
    with pytest.raises(BundleError, match="no macro to put into"):
        bundle.gather({}, mill(), [])


def test_a_newer_format_is_refused_by_name():
    def newer(said):
        said["format"] = "clickstop-bundle/2"

    with pytest.raises(BundleError, match=r"clickstop-bundle/2, of a newer Clickstop; update the program"):
        bundle.read(resealed(files_of(made("lift")), newer))


def test_keys_that_are_not_known_are_skipped():
    def more(said):
        said["colour"] = "none"
        said["macros"][0]["weight"] = 3

    assert list(bundle.read(resealed(files_of(made("lift")), more)).texts) == ["lift"]


TEXT = st.text(st.characters(exclude_categories=("Cs", "Cc", "Zl", "Zp", "Cf", "Co", "Cn", "Zs")), max_size=30)


@settings(max_examples=25, deadline=None)
@given(name=TEXT.filter(str.strip), purpose=TEXT, author=TEXT, tags=st.lists(TEXT.filter(str.strip), max_size=3))
def test_whatever_a_macro_says_comes_back_as_it_was_said(name, purpose, author, tags):
    text = document("any", {"block": "raise"}, name=name, purpose=purpose, author=author, tags=tags)
    try:
        documents.parse("macro", text)
    except documents.DocumentError:
        return
    assert bundle.read(made(shelf={"any": text})).texts == {"any": text}
