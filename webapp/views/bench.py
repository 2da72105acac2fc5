"""The bench: one macro as an operation sheet, and at once what it comes to."""

from __future__ import annotations

from dataclasses import dataclass, replace

from flask import Blueprint, abort, get_template_attribute, redirect, render_template, request, url_for
from jinja2_fragments.flask import render_block, render_blocks
from markupsafe import Markup
from werkzeug.wrappers import Response

from library import documents
from library.documents import DocumentError
from library.macros import Macro
from library.pack.contents import days
from library.store import Head
from parser.proof.verdict import NOT_CHECKED
from webapp import workshop
from webapp.drawings import elevations, timeline
from webapp.drawings.elevations import DrawnViews, Extra
from webapp.guard import is_htmx
from webapp.pages import accepting, editing, handbook, handles, headed, offered, shelf_index
from webapp.pages import bench as bench_page
from webapp.pages import fixes as fixes_page
from webapp.pages import playback as playback_page
from webapp.pages import shelf as shelf_page
from webapp.pages import start as start_page
from webapp.pages import summary as summary_page
from webapp.pages.accepting import Accepted
from webapp.pages.clashes import Clash, clashes, unsaved, with_typed, with_what_is_amiss
from webapp.pages.editing import Edited
from webapp.pages.fixes import Offers, SafeStartOffer
from webapp.pages.playback import Playback
from webapp.pages.shelf import ONLY
from webapp.views import seen
from webapp.views.bench_edits import as_it_stands, change, pressed, sent

blueprint = Blueprint("bench", __name__)

SIDES = ("drawing", "speeds", "time", "pendant")
"""What the right side may show."""
MOST_FINDINGS = 100
"""More of them at once nobody reads, and a pasted program may have thousands."""


@dataclass(frozen=True, slots=True)
class Page:
    """All that the template shows. ``partial`` is True where the fields stay and only what they come to is renewed.

    ``seen`` is the number of the revision that is saved. ``clashes`` are the fields that another page has changed too,
    ``left_over`` what was typed beside steps that it has moved.
    ``safe_start`` is None where it is still to be sought. ``further`` counts the findings that are there beside those
    shown. ``shown`` says in words which finding is drawn, ``shown_key`` names it, both "" where none is;
    ``drawn_anew`` is True where the drawing is to take the focus. ``unsaved`` says why what was typed is not saved, ""
    where it is. ``open_step`` is the step whose form is open, 0 for none; ``after`` the one that a new step is to
    follow, None where the list of blocks is not open. ``side`` is what the right side shows. ``head`` is how many
    lines of comments the file begins with, 0 for as many as usual.
    """

    id: str
    macro: Macro
    macros: tuple[tuple[str, str], ...]
    base: str
    seen: int
    told: str
    clashes: tuple[Clash, ...]
    left_over: tuple[tuple[str, str], ...]
    focus: str
    can_undo: bool
    can_redo: bool
    unit: str
    header: tuple[bench_page.HeadField, ...]
    steps: tuple[bench_page.StepRow, ...]
    menu: tuple[tuple[str, tuple[offered.MenuBlock, ...]], ...]
    landmarks: tuple[tuple[str, tuple[tuple[str, str], ...]], ...]
    slots: tuple[bench_page.SlotChoice, ...]
    summary: summary_page.Summary
    findings: tuple[bench_page.FindingRow, ...]
    further: int
    fixes: Offers
    safe_start: SafeStartOffer | None
    accepted: tuple[Accepted, ...]
    lines: tuple[bench_page.LineRow, ...]
    shown: str
    shown_key: str
    views: DrawnViews | None
    playback: Playback
    timeline: Markup
    unsaved: str
    open_step: int
    head: int
    after: int | None = None
    side: str = SIDES[0]
    not_checked: str = NOT_CHECKED
    partial: bool = False
    drawn_anew: bool = False


@blueprint.get("/")
def home() -> str | Response:
    """Start, as long as nobody has confirmed any part of the machine; then the bench."""
    try:
        begun = start_page.begun(workshop.current().bench().machine_sheet)
    except DocumentError:
        begun = True  # the bench says what is wrong with it
    return first() if begun else redirect("/start")


@blueprint.get("/bench")
def first() -> str | Response:
    """The first macro of the workshop, or the form to make one."""
    ids = workshop.current().ids("macro")
    return redirect(f"/bench/{ids[0]}") if ids else render_template("bench_empty.html")


@blueprint.get("/blocks-to-add")
def blocks() -> str:
    """The blocks that a step may be of, each with a line on what it does, as buttons of the form of the bench."""
    return str(get_template_attribute("bench_parts.html", "blocks_to_add")(offered.menu()))


@blueprint.get("/bench/<macro_id>")
def show(macro_id: str) -> str:
    """One macro; ``?show=N`` draws finding N, ``?at-x=`` and so on a start, ``?seek=1`` waits for the safe start.

    ``?step=N`` opens the form of step N, ``?after=N`` the list of blocks for a step after it. 404 for a macro that is
    not there.
    """
    seek = "seek" in request.args
    page = assemble(macro_id, as_it_stands(macro_id), show=shown_finding(), seek=seek)
    step, after = request.args.get("step", 0, type=int), request.args.get("after", type=int)
    return render_template("bench.html", page=replace(page, open_step=step, after=after))


@blueprint.post("/bench/<macro_id>/safe-start")
def safe_start(macro_id: str) -> str:
    """The safe start of what the fields come to as they are, nothing kept. 404 as above.

    The page that waits for it ends the search as soon as something else is typed.
    """
    edited = editing.fill_in(as_it_stands(macro_id).text, request.form, (editing.MINE, ""))
    return str(render_block("bench.html", "safe_start", page=assemble(macro_id, edited, seek=True)))


@blueprint.get("/bench/<macro_id>/drawing")
def drawing(macro_id: str) -> str:
    """The drawing and playback alone, with finding ``?show=N``, from a start, or neither. 404 as above.

    Where ``show`` is given, with a finding or without, the drawing takes the focus: its link may be gone with the swap.
    """
    asked = "show" in request.args
    page = assemble(macro_id, as_it_stands(macro_id), show=shown_finding(), side=SIDES[0] if asked else "")
    return str(render_block("bench.html", "drawing", page=replace(page, drawn_anew=asked)))


@blueprint.post("/bench/<macro_id>")
def press(macro_id: str) -> str | Response | tuple[str, int]:
    """Keep what was typed and do what the button says: add, move, remove, tidy, fix, accept, undo. 404 as above."""
    button = request.form.get("do", "apply")
    what, _, argument = button.partition(" ")
    edited = pressed(macro_id, button, request.form)
    if what == "send" and not (edited.told or edited.problems):
        edited, there = sent(edited, request.form)
        if there:
            return Response(status=204, headers={"HX-Redirect": there}) if is_htmx() else redirect(there, 303)
    page = assemble(macro_id, edited)
    if what == "insert" and edited.focus:
        page = replace(page, after=min(editing.step_number(argument), len(page.steps)))
    if is_htmx():
        return str(render_block("bench.html", "sheet", page=page))
    if edited.told or edited.problems:
        return render_template("bench.html", page=page), 422
    there = url_for(
        "bench.show",
        macro_id=macro_id,
        step=page.open_step or None,
        after=page.after,
        _anchor=editing.anchor(edited.focus) or "operation-sheet",
    )
    return redirect(there, 303)


@blueprint.post("/bench/<macro_id>/save")
def save(macro_id: str) -> str | tuple[str, int, dict[str, str]]:
    """Keep what was typed and answer what it comes to. 404 as above."""
    return results(macro_id, change(macro_id, lambda text: editing.fill_in(text, request.form)), saved=True)


@blueprint.post("/bench/<macro_id>/try")
def attempt(macro_id: str) -> str | tuple[str, int] | tuple[str, int, dict[str, str]]:
    """What the fields would come to as they are now, nothing kept. 404 as above.

    Where they are those of steps that stand elsewhere by now nothing is answered: the sheet would take the place of
    what is being typed before that was ever sent to be saved, which tells it.
    """
    edited = editing.fill_in(as_it_stands(macro_id).text, request.form, (editing.MINE, ""))
    return ("", 204) if edited.told else results(macro_id, edited, saved=False)


@blueprint.post("/bench/<macro_id>/slot")
def slot(macro_id: str) -> str | Response | tuple[str, int]:
    """Put the macro on a slot of the pendant, or take it off.

    404 as above, 400 for a slot that is not there, 409 where it holds another macro by now than the page showed, or the
    form does not say what it held.
    """
    as_it_stands(macro_id)
    put = request.form.get("do") != "clear"

    def on_the_slot(head: Head) -> tuple[str, str]:
        choices = {choice.value: choice for choice in bench_page.slot_choices(documents.parse("pendant", head.text))}
        chosen = choices.get(request.form.get("slot", ""))
        if chosen is None:
            abort(400, "The pendant has no such spare slot. Reload the page and choose from its list.")
        was = request.form.get(f"was {chosen.value}")
        if was is None:
            abort(409, seen.UNSEEN)
        if chosen.macro not in (macro_id, was):
            held = name_of(chosen.macro) if chosen.macro else "nothing"
            abort(409, f"Another page has put {held} on this slot meanwhile. Reload the page and choose again.")
        if not put and chosen.macro != macro_id:
            return head.text, ""
        path = ("slots", chosen.position, chosen.increment)
        what = f"{'Put' if put else 'Took'} {macro_id} {'on' if put else 'off'} {chosen.position} {chosen.increment}"
        return documents.write("pendant", {path: macro_id if put else None}, head.text), what

    workshop.current().change("pendant", ONLY, on_the_slot)
    if is_htmx():
        return str(
            render_block("bench.html", "pendant_slots", page=assemble(macro_id, as_it_stands(macro_id), side="pendant"))
        )
    return redirect(f"/bench/{macro_id}?side=pendant#slots", 303)


def results(macro_id: str, edited: Edited, *, saved: bool) -> str | tuple[str, int, dict[str, str]]:
    """What the fields come to, without the fields; the whole sheet where the page no longer shows what is saved."""
    if edited.told or edited.theirs or (saved and editing.behind(edited.text, request.form)):
        whole = render_block("bench.html", "sheet", page=assemble(macro_id, edited))
        return whole, 200, {"HX-Retarget": "#sheet", "HX-Reswap": "outerHTML"}
    page = assemble(macro_id, edited)
    values = editing.sent_values(page.macro, request.form, edited.problems)
    base = editing.base_of(page.macro, values) if saved else ""
    blocks = ["results", "updates", *(["pendant_slots"] if page.side == "pendant" else [])]
    return str(render_blocks("bench.html", blocks, page=replace(page, partial=True, base=base)))


def assemble(
    macro_id: str,
    edited: Edited,
    *,
    show: int | None = None,
    seek: bool = False,
    side: str = "",
) -> Page:
    """The page of a macro whose text is ``edited.text``, saved or not. 400 where that text is no macro.

    Its safe start is sought only if ``seek`` says so: the page asks for it once it is there. Only what the right side
    shows is drawn: ``side``, or what the page says that it shows.
    """
    side = side or request.values.get("side", "")
    side = side if side in SIDES else SIDES[0]
    shop = workshop.current()
    bench = shop.bench()
    try:
        macro = documents.parse("macro", edited.text, macro_id)
    except DocumentError as error:
        abort(400, f"{handbook.sentence(str(error))} Fix its text on the Shelf page.")
    proof = edited.text, shop.text("machine", ONLY), shop.text("controller", ONLY), shelf_page.others(shop, edited.text)
    made = headed.headed(proof, bench, days(shop), request.values.get("head", 0, type=int))
    proved, report = made.proved, made.proved.report
    figures = bench.figures
    steps = with_typed(bench_page.step_rows(proved, figures), edited)
    keys = bench_page.finding_keys(report)
    if show is None:
        show = dict(zip(keys, range(len(keys)), strict=True)).get(request.values.get("shown", ""))
    focus = dict(enumerate(report.findings)).get(-1 if show is None else show)
    focus = focus if focus and focus.witness else None
    summary = summary_page.summary(proved, figures)
    findings = bench_page.finding_rows(report, figures)
    wanted = playback_page.asked(request.values, report, figures)
    if focus and focus.witness:
        wanted = playback_page.Asked(focus.witness.start, {})
    shown_key = keys[show] if focus and show is not None else ""
    from_right = request.values.get("elevation") == "side"
    playback, start = playback_page.shown(report, figures, wanted, side=from_right, finding=shown_key)
    drawn_from = start if playback.chosen else None
    return Page(
        id=macro_id,
        macros=tuple((each.id, each.name) for each in shelf_index.listed(shop).values()),
        macro=macro,
        base=editing.base_of(macro, editing.seen_of(macro, edited, request.form)),
        seen=shop.head("macro", macro_id).number,
        told=edited.told,
        clashes=clashes(steps, edited),
        left_over=tuple(edited.left_over.items()),
        focus=edited.focus,
        can_undo=shop.can_undo("macro", macro_id),
        can_redo=shop.can_redo("macro", macro_id),
        unit=figures.unit,
        header=bench_page.header_fields(proved, edited, figures),
        steps=steps,
        menu=offered.menu(),
        landmarks=offered.landmark_lists(bench.landmarks, figures),
        slots=bench_page.slot_choices(bench.pendant),
        summary=with_what_is_amiss(summary, steps, edited),
        findings=findings[:MOST_FINDINGS],
        further=len(findings[MOST_FINDINGS:]),
        fixes=fixes_page.offers(*proof, head=made.known),
        safe_start=fixes_page.safe_start(*proof, head=made.known)
        if seek or not fixes_page.to_be_sought(proved)
        else None,
        accepted=accepting.accepted(proved),
        lines=bench_page.line_rows(report, made.lines),
        head=made.known,
        shown=bench_page.what_is_shown(focus) if focus else "",
        shown_key=shown_key,
        views=elevations.draw_views(
            report,
            focus=focus,
            start=drawn_from,
            title=macro.name,
            units=figures.units,
            extra=Extra(from_right, handles.handles(proved, drawn_from), macro.units),
        )
        if side == "drawing"
        else None,
        playback=playback,
        timeline=timeline.draw(report, {step.number: step.title for step in steps}) if side == "time" else Markup(""),
        side=side,
        unsaved=unsaved(edited),
        open_step=editing.open_step(edited.focus) or editing.first_step(edited.typed),
    )


def name_of(macro_id: str) -> str:
    """The name of a macro, its id where its text cannot be read."""
    try:
        return documents.parse("macro", workshop.current().text("macro", macro_id)).name
    except DocumentError:
        return macro_id


def shown_finding() -> int | None:
    """The finding that the address asks to see, None for none."""
    return request.args.get("show", type=int)
