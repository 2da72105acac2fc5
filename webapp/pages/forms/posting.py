"""What comes of a posted form: the text with what differs put in, or an error at each field that cannot be used."""

from __future__ import annotations

import copy
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from library import documents, toml_edits
from library.documents import DocumentError
from library.fields import Units
from library.sheets import parts as parts_sheet
from library.toml_edits import Rows, plain, with_rows
from library.toml_text import Path, dotted, read
from webapp.pages.forms import layout, values
from webapp.pages.forms.layout import FormPart, Group, Shape, held
from webapp.pages.forms.values import CellsError, Value

REMOVE = "remove."


@dataclass(frozen=True, slots=True)
class Change:
    """The new text where all is well, else the old one with the errors by name of the cell.

    An error under "" belongs to no cell in particular.
    """

    text: str
    errors: Mapping[str, str] = field(default_factory=dict)


def changed(kind: str, text: str, posted: Mapping[str, str], units: Units | None = None) -> Change:
    """The document with what a form, or a part of one, says put into it; only keys that differ are touched.

    Raises DocumentError where the text itself is no good document.
    """
    shape = layout.shape(kind, text, units, posted)
    parts = shape.parts()
    new = copy.deepcopy(shape.data)
    errors: dict[str, str] = {}
    every = [value for part in parts for group in part.groups for value in _wanted(group, posted)]
    touched: list[Value] = []
    for value in every:
        try:
            if _take(value, posted, shape, new):
                touched.append(value)
        except CellsError as wrong:
            errors.update({value.names[at]: why for at, why in wrong.errors.items()})
    if errors:
        return Change(text, errors)
    _remove(parts, posted, shape, new, errors)
    if kind == "pendant":
        _rename(shape.data, new)
    elif kind == "machine" and new.get("on_table"):
        _setup_on_table(shape.data, new)
    if parts_sheet.KEY in new:
        there = parts_sheet.parts_of(kind, plain(new))
        for gone in [part for part in new[parts_sheet.KEY] if part not in there]:
            del new[parts_sheet.KEY][gone]
    if errors or new == shape.data:
        return Change(text, errors)
    found = documents.problems(kind, plain(new))
    if found:
        return Change(text, _at_cells(found, new, touched, every))
    try:
        made = toml_edits.edited(text, with_rows(read(text)), new)
        if documents.parse(kind, made) != documents.KINDS[kind].model_validate(plain(new)):
            raise DocumentError("the text would not read back as this form; edit the text")
    except DocumentError as error:
        return Change(text, {"": error.why})
    return Change(made)


def _wanted(group: Group, posted: Mapping[str, str]) -> Iterator[Value]:
    """The values that are posted, without those of rows that go or were left blank."""
    if posted.get(REMOVE + group.name):
        return
    if group.state == layout.NEW and not any(_filled_in(value, posted) for value in group.every_value()):
        return
    yield from (value for value in group.values if all(name in posted for name in value.names))
    for each in group.groups:
        yield from _wanted(each, posted)


def _filled_in(value: Value, posted: Mapping[str, str]) -> bool:
    """Whether a field of a new row says more than it did when it was blank."""
    typed = tuple(posted.get(name, "").strip() for name in value.names)
    return any(typed) and typed != value.written(None)


def _take(value: Value, posted: Mapping[str, str], shape: Shape, new: dict[str, Any]) -> bool:
    """Put one value into the data where it was changed; whether it was."""
    typed = [posted[name].replace("\r\n", "\n").replace("\r", "\n") for name in value.names]
    standing = value.written(held(shape.data, value.path))
    fresh = (
        any(isinstance(part, int) for part in value.path)
        and held(shape.data, value.path[: _row_end(value.path)]) is None
    )
    if tuple(typed) == standing and not fresh:
        return False
    wanted = _untouched_kept(value, value.read(typed), typed, standing, held(shape.data, value.path))
    if wanted == value.usual and held(shape.data, value.path) is None and value.stands_anyway:
        wanted = None
    _put(new, value.path, wanted, shape)
    return True


def _untouched_kept(value: Value, wanted: object, typed: Sequence[str], standing: Sequence[str], now: object) -> object:
    """Steps of the pendant as they are kept, where their own cell was left alone: what inches show is rounded."""
    before = value.usual if now is None else now
    if not isinstance(wanted, dict) or value.kind != values.STEPS or not isinstance(before, dict):
        return wanted
    same = {key for key, one, other in zip(value.keys, typed, standing, strict=True) if one == other}
    return {key: before[key] if key in same and key in before else number for key, number in wanted.items()}


def _row_end(path: Path) -> int:
    return max(at for at, part in enumerate(path) if isinstance(part, int)) + 1


def _put(new: dict[str, Any], path: Path, wanted: object, shape: Shape) -> None:
    """Set a value in the data, or take it out where it is None; tables that become empty by that go too."""
    trail: list[tuple[Any, str | int]] = []
    node: Any = new
    for at, part in enumerate(path[:-1]):
        below: Any = Rows() if isinstance(path[at + 1], int) else {}
        holder: dict[Any, Any] = node.entries if isinstance(node, Rows) else node
        if part not in holder:
            if wanted is None and not isinstance(below, Rows) and not isinstance(part, int):
                return
            if isinstance(below, Rows):
                below = copy.deepcopy(layout.rows_at(None, shape.usual_rows(path[: at + 1])))
            holder[part] = below
        trail.append((holder, part))
        node = holder[part]
    if wanted is not None:
        node[path[-1]] = wanted
        return
    if node.pop(path[-1], None) is None:
        return
    for holder, part in reversed(trail):
        if isinstance(part, str) and holder[part] == {}:
            del holder[part]
        else:
            break


def _remove(
    parts: Iterable[FormPart], posted: Mapping[str, str], shape: Shape, new: dict[str, Any], errors: dict[str, str]
) -> None:
    """Take out the rows and tables that are ticked."""

    def go(group: Group) -> None:
        if group.removable and posted.get(REMOVE + group.name):
            path = _path(group.name)
            node: Any = new
            for at, part in enumerate(path[:-1]):
                holder: dict[Any, Any] = node.entries if isinstance(node, Rows) else node
                if part not in holder:
                    usual = shape.usual_rows(path[: at + 1])
                    holder[part] = copy.deepcopy(layout.rows_at(None, usual)) if usual else {}
                node = holder[part]
            last: dict[Any, Any] = node.entries if isinstance(node, Rows) else node
            last.pop(path[-1], None)
            if isinstance(node, Rows) and not node and shape.usual_rows(path[:-1]):
                errors[""] = f"at least one {group.row} has to stay"
        for each in group.groups:
            go(each)

    for part in parts:
        for group in part.groups:
            go(group)
    _without_empty(new)


def _without_empty(node: Any) -> None:
    for holder in [node] if isinstance(node, dict) else list(node.entries.values()) if isinstance(node, Rows) else []:
        for key in [key for key, value in holder.items() if isinstance(value, Rows) and not value]:
            del holder[key]
        for value in holder.values():
            _without_empty(value)


def _path(name: str) -> Path:
    """The path of a table by its name: systems such as G59.1 have a point of their own."""
    parts: list[str | int] = []
    for part in name.split("."):
        if part.isdecimal() and parts and isinstance(parts[-1], str) and parts[-1].startswith("G59"):
            parts[-1] = f"{parts[-1]}.{part}"
        else:
            parts.append(int(part) if part.isdecimal() else part)
    return tuple(parts)


def _rename(old: Mapping[str, Any], new: dict[str, Any]) -> None:
    """What is called by a position or an increment goes along when that is called something else."""
    before, after = held(old, ("positions",)), new.get("positions")
    if isinstance(before, Rows) and isinstance(after, Rows):
        both = set(before.entries) & set(after.entries)
        labels = {before.entries[at].get("label"): after.entries[at].get("label") for at in both}
        _follow(new, "selector", labels, [new.get("slots")])
    one, other = old.get("increments", ["x1", "x10", "x100"]), new.get("increments", ["x1", "x10", "x100"])
    if one != other and len(one) == len(other) and isinstance(other, list):
        rows = list(new.get("slots", {}).values()) if isinstance(new.get("slots"), dict) else []
        _follow(new, "increments", dict(zip(one, other, strict=True)), [*rows, held(new, ("jog", "step"))])


def _setup_on_table(old: Mapping[str, Any], new: dict[str, Any]) -> None:
    """The setup that is on the table goes along where it is called otherwise, and is none where it was taken out."""
    before, after = held(old, ("setup",)), held(new, ("setup",))
    was = [at for at, entry in before.entries.items() if entry.get("name") == new["on_table"]] if before else []
    now = [after.entries[at].get("name") for at in was if at in after.entries] if after else []
    if now:
        new["on_table"] = now[0]
    elif was:
        del new["on_table"]


def _follow(new: dict[str, Any], group: str, called: Mapping[Any, Any], tables: Iterable[Any]) -> None:
    # What is called by a label that another one had before has changed places with it, and was not called otherwise.
    changes = {one: other for one, other in called.items() if other and other not in called}
    for table in tables:
        if isinstance(table, dict) and set(table) & set(changes):
            renamed = {changes.get(key, key): value for key, value in table.items()}
            table.clear()
            table.update(renamed)
    signals = held(new, ("wiring", "signal"))
    for signal in signals.entries.values() if isinstance(signals, Rows) else ():
        if signal.get("group") == group and signal.get("is") in changes:
            signal["is"] = changes[signal["is"]]


def _at_cells(
    found: Iterable[tuple[Path, str]], data: Mapping[str, Any], touched: Sequence[Value], posted: Sequence[Value]
) -> Mapping[str, str]:
    """Each problem of the data at the cell that it is about.

    Problems of what was changed come first, and alone; else those of another posted field; what no field is about is
    told at the first that was changed, under "" where there is none.
    """
    placed = [(_placed(data, path), path, why) for path, why in found]
    for values_there in (touched, posted):
        errors: dict[str, str] = {}
        for place, _, why in placed:
            name = _cell_at(place, values_there)
            if name:
                errors.setdefault(name, why if why.startswith('"') else f"it {why}")
        if errors:
            return errors
    _, path, why = placed[0]
    return {touched[0].names[0] if touched else "": f"{dotted(path)} {why}".strip()}


def _cell_at(place: Path, among: Sequence[Value]) -> str:
    """The name of the cell that a place in the data is about, "" for none."""
    for value in among:
        if place[: len(value.path)] == value.path:
            last = place[len(value.path)] if len(place) > len(value.path) else 0
            at = value.keys.index(last) if last in value.keys else last if isinstance(last, int) else 0
            return value.names[min(at, len(value.names) - 1)]
    return next((value.names[0] for value in among if place and value.path[: len(place)] == place), "")


def _placed(data: Any, path: Path) -> Path:
    """A path in plain data as the path among ``Rows``: entries count from 0 there, whatever was taken out before."""
    placed: list[str | int] = []
    node = data
    for part in path:
        if isinstance(node, Rows) and isinstance(part, int):
            places = sorted(node.entries)
            part = places[part] if part < len(places) else part
            node = node.entries.get(part)
        else:
            node = node.get(part) if isinstance(node, dict) else None
        placed.append(part)
    return tuple(placed)
