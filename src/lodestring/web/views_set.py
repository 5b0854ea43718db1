"""The drawing board of one set: its page, its groups, and every change to it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from lodestring.errors import LodestringError
from lodestring.web.answers import Here, done, page, refused, wants_json, while_wanted
from lodestring.web.desk import WORKING, Desk, Part, changed
from lodestring.web.forms import Form, read_form
from lodestring.web.pages import BoardPage, ConflictPage, Notice, PartPage, TextPage, WhyPage
from lodestring.web.render import render
from lodestring.web.work import Urgency

if TYPE_CHECKING:
    from lodestring.folder.outcome import Outcome
    from lodestring.folder.sitting import Sitting

WORDS = ("digest", "add", "remove", "compare", "label", "id", "text", "path", "typed")
"""Names of a form's fields that are no key paths."""
DO = "do:"
"""Begins the name of a field that holds TOML source, the "do it" of a finding."""

Change = Callable[["Sitting"], "Outcome"]


async def board(here: Here, request: Request) -> Response:
    """The drawing board."""
    return await _board(here, request, request.query_params.get("compare", ""))


async def _board(
    here: Here, request: Request, kept: str, refusal: tuple[Notice, ...] = (), typed: Mapping[str, str] | None = None
) -> Response:
    desk = here.desk(request)

    def make(desk: Desk) -> BoardPage:
        parts = desk.parts(kept)
        sitting = desk.sitting()
        own = [Notice("problem", f"{p.sentence()}.", p.path) for p in sitting.problems]
        own += [Notice("word", f"{w}.") for w in sitting.words]
        return BoardPage(
            title=here.bench.title(sitting),
            set=desk.name,
            digest=sitting.digest,
            parts={p.group: _part(desk, p, kept, pickups_of(parts)) for p in parts.values()},
            pickups=pickups_of(parts),
            views=here.bench.views(desk.assessment()),
            kept_states=sitting.kept(),
            kept=kept,
            undo_depth=sitting.undo_depth,
            redo_depth=sitting.redo_depth,
            units=here.bench.units(),
            working=any(p.state == WORKING for p in parts.values()),
            typed=dict(typed or {}),
            island={
                "set": desk.name,
                "digest": sitting.digest,
                "compare": kept,
                "groups": {p.group: p.state for p in parts.values()},
                "push": f"/set/{desk.name}/push",
            },
            notices=(*refusal, *own),
        )

    return page("board.html", await desk.ask(make), 422 if refusal else 200)


def pickups_of(parts: Mapping[str, Part]) -> tuple[str, ...]:
    """Names of the pickups, by their groups of fields."""
    words = [group.split(".") for group in parts]
    return tuple(w[2] for w in words if len(w) == 3 and w[:2] == ["fields", "pickup"])


def _part(desk: Desk, part: Part, kept: str, pickups: tuple[str, ...]) -> Markup:
    words = part.group.split(".")
    about = words[2] if len(words) > 2 and (words[0] == "picture" or words[1] == "pickup") else ""
    record = PartPage(
        desk.name,
        part.digest,
        part.group,
        part.kind,
        part.title,
        part.state,
        part.sentence,
        part.content,
        kept,
        pickups.index(about) + 1 if about in pickups else 0,
    )
    return Markup(render("part.html", record))


async def part(here: Here, request: Request) -> Response:
    """One group as a piece of page: 200 if it is ready, 202 if it is being worked out."""
    group, kept = str(request.path_params["group"]), request.query_params.get("compare", "")
    desk = here.desk(request)

    def make(desk: Desk) -> tuple[Part, Markup] | None:
        parts = desk.parts(kept, begin=False)
        found = parts.get(group)
        return None if found is None else (found, _part(desk, found, kept, pickups_of(parts)))

    made = await desk.ask(make)
    if made is None:
        return refused(request, 404, "There is no such group on this page; try the page.", f"/set/{desk.name}")
    headers = {"x-digest": made[0].digest, "x-state": made[0].state}
    return HTMLResponse(made[1], 202 if made[0].state == WORKING else 200, headers)


async def change(here: Here, request: Request) -> Response:
    """Fields by key path as typed (empty: left out), or `add`, `remove`, or TOML source under `do:PATH`."""
    form = await read_form(request)
    digest = form.get("digest")
    sources = {n.removeprefix(DO): v for n, v in form.fields.items() if n.startswith(DO)}
    typed = {n: v for n, v in form.fields.items() if n not in WORDS and not n.startswith(DO)}
    if form.get("path"):
        typed[form.get("path")] = form.get("typed")
    elif len(typed) > 1:  # a page without script sends all its fields
        same = await here.desk(request).ask(lambda desk: _typed_now(desk, form.get("compare")))
        typed = {path: text for path, text in typed.items() if text.strip() != same.get(path, "")}

    def act(sitting: Sitting) -> Outcome:
        if form.get("add"):
            return sitting.add(form.get("add"), digest)
        if form.get("remove"):
            return sitting.remove(form.get("remove"), digest)
        if sources:
            return sitting.changes({p: s or None for p, s in sources.items()}, digest)
        if not typed:
            raise LodestringError("a change must change a field", "none", "typing another value")
        now = digest
        for path, text in typed.items():
            outcome = sitting.change(path, text, now)
            if not outcome.done:
                return outcome
            now = outcome.digest
        return outcome

    return await _changed(here, request, form, act, typed)


def _typed_now(desk: Desk, kept: str) -> dict[str, str]:
    """What the fields of the page say now, by key path."""
    groups = [part.content for part in desk.parts(kept, begin=False).values() if part.kind == "fields"]
    return {field.path: field.typed for group in groups for field in group.fields}


async def undo(here: Here, request: Request) -> Response:
    """One step back."""
    form = await read_form(request)
    return await _changed(here, request, form, lambda sitting: sitting.undo(form.get("digest")))


async def redo(here: Here, request: Request) -> Response:
    """One step forward again."""
    form = await read_form(request)
    return await _changed(here, request, form, lambda sitting: sitting.redo(form.get("digest")))


async def put_back(here: Here, request: Request) -> Response:
    """Write a file again that has gone from the folder."""
    form = await read_form(request)
    return await _changed(here, request, form, lambda sitting: sitting.put_back())


async def save_text(here: Here, request: Request) -> Response:
    """The whole text in place of the file's."""
    form = await read_form(request)
    return await _changed(
        here, request, form, lambda sitting: sitting.replace_text(form.get("text"), form.get("digest"))
    )


async def _changed(
    here: Here, request: Request, form: Form, act: Change, typed: Mapping[str, str] | None = None
) -> Response:
    """Make a change and answer with what came of it: problems at fields, both texts, or what changed."""
    desk, kept, as_json = here.desk(request), form.get("compare"), wants_json(request)
    before = await desk.ask(lambda d: d.parts(kept, begin=False) if as_json else {}, Urgency.CHANGE)

    def make(desk: Desk) -> tuple[Outcome, dict[str, Any]]:
        outcome = act(desk.sitting())
        if outcome.done:
            desk.tell_changed()
        return outcome, _told(desk, outcome, kept, before) if as_json else {}

    outcome, told = await desk.ask(make, Urgency.CHANGE)
    if as_json:
        return JSONResponse(told, 200 if outcome.done else 409 if outcome.conflict else 422)
    back = f"/set/{desk.name}" + (f"?{urlencode({'compare': kept})}" if kept else "")
    if outcome.done:
        return RedirectResponse(back, 303)
    if outcome.conflict is not None:
        record = ConflictPage(
            "Changed meanwhile", desk.name, outcome.conflict.digest, outcome.conflict.mine, outcome.conflict.theirs
        )
        return page("conflict.html", record, 409)
    notices = tuple(Notice("problem", f"{p.sentence()}.", p.path) for p in outcome.problems)
    if "text" in form.fields:
        record_ = TextPage("The set file", desk.name, form.get("digest"), form.get("text"), notices)
        return page("text.html", record_, 422)
    return await _board(here, request, kept, notices, typed)


def _told(desk: Desk, outcome: Outcome, kept: str, before: Mapping[str, Part]) -> dict[str, Any]:
    after = desk.parts(kept)
    groups = changed(before, after)
    sitting = desk.sitting()
    conflict = outcome.conflict
    return {
        "done": outcome.done,
        "digest": outcome.digest,
        "problems": [{"path": p.path, "sentence": f"{p.sentence()}.", "line": p.line} for p in outcome.problems],
        "words": list(outcome.words),
        "conflict": conflict and {"mine": conflict.mine, "theirs": conflict.theirs, "digest": conflict.digest},
        "paths": list(outcome.changed),
        "changed": list(groups),
        "parts": {
            g: str(_part(desk, after[g], kept, pickups_of(after))) for g in groups if after[g].content is not None
        },
        "groups": list(after),
        "working": [g for g, p in after.items() if p.state == WORKING],
        "undo": sitting.undo_depth,
        "redo": sitting.redo_depth,
    }


async def keep(here: Here, request: Request) -> Response:
    """Keep the present state, and compare with it from then on."""
    form, desk = await read_form(request), here.desk(request)
    state = await desk.ask(lambda d: d.sitting().keep(form.get("label")), Urgency.CHANGE)
    return done(request, f"/set/{desk.name}?{urlencode({'compare': state.id})}", id=state.id, label=state.label)


async def forget(here: Here, request: Request) -> Response:
    """A kept state goes to the bin."""
    form, desk = await read_form(request), here.desk(request)
    await desk.ask(lambda d: d.sitting().forget(form.get("id")), Urgency.CHANGE)
    return done(request, f"/set/{desk.name}")


async def cancel(here: Here, request: Request) -> Response:
    """Give up what is being worked out in the background."""
    await read_form(request)
    desk = here.desk(request)
    desk.cancel()
    return done(request, f"/set/{desk.name}")


async def text(here: Here, request: Request) -> Response:
    """The set file as text, to edit."""
    desk = here.desk(request)
    sitting = await desk.ask(lambda d: d.sitting())
    return page("text.html", TextPage("The set file", desk.name, sitting.digest, sitting.text))


async def why(here: Here, request: Request) -> Response:
    """The reason behind one figure."""
    key, desk = str(request.path_params["key"]), here.desk(request)
    told = await while_wanted(request, desk.ask(lambda d: here.bench.why(d.computed(), key), Urgency.ASKED))
    return page("why.html", WhyPage("Why", desk.name, told))
