"""What is said of the coil by forms: readings, sizes, a lost count, a snap, notes, the end. No script is needed."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from starlette.requests import Request
from starlette.responses import Response

from lodestring.errors import LodestringError
from lodestring.web.answers import Here, done, page, refused
from lodestring.web.forms import Form, read_form
from lodestring.web.pages import LostPage, Notice, SnapPage, WinderPage
from lodestring.web.views_bench import serial_of, show, tell

if TYPE_CHECKING:
    from lodestring.folder.winding_desk import WindingDesk

PHOTO_KINDS = ("image/jpeg", "image/png", "image/webp")
LOST = {"end": "", "side": "", "spool_mass": "", "at_least": ""}


async def _noted(
    here: Here,
    request: Request,
    make: Callable[[WindingDesk, Form], tuple[str, dict[str, Any]]],
    form: Form | None = None,
) -> Response:
    """Read a form, make an event of it, write it, and go back; a slip is said on the page."""
    sent = form or await read_form(request)
    serial = serial_of(request)

    def work(desk: WindingDesk) -> None:
        kind, body = make(desk, sent)
        desk.note(serial, kind, body)

    try:
        await here.book.ask(work)
    except LodestringError as error:
        return await show(here, serial, (Notice("problem", f"{error}."),), 422)
    tell(here, serial)
    return done(request, f"/bench/{serial}")


# ---- the count ----


async def bench_typed(here: Here, request: Request) -> Response:
    """The winder's own counter was read. Where that looks like a slip the page asks first; `sure` then says yes.

    `covers`, as JSON, is what the page had counted when it was typed: presses that come later are added to it.
    """
    form = await read_form(request)
    serial = serial_of(request)
    if form.get("sure") != "yes":
        try:
            doubt = await here.book.ask(lambda d: _count(d, serial, form).doubt)
        except LodestringError as error:
            return await show(here, serial, (Notice("problem", f"{error}."),), 422)
        if doubt:
            return await show(here, serial, (), 409, {"reading": form.get("reading"), "doubt": doubt})
    return await _noted(here, request, lambda d, f: ("coil.count", dict(_count(d, serial, f).body)), form)


def _count(desk: WindingDesk, serial: str, form: Form) -> Any:
    from lodestring.folder.winding_count import typed_reading

    return typed_reading(desk.book, serial, form.get("reading"))


async def bench_reset(here: Here, request: Request) -> Response:
    """The counter was set back to zero, or jumped."""
    from lodestring.folder.winding_count import counter_reset

    serial = serial_of(request)
    return await _noted(
        here, request, lambda d, f: ("coil.count", dict(counter_reset(d.book, serial, f.get("reading") or "0").body))
    )


async def bench_off(here: Here, request: Request) -> Response:
    """Turns were taken off by hand."""
    from lodestring.folder.winding_count import unwound

    serial = serial_of(request)
    return await _noted(
        here,
        request,
        lambda d, f: ("coil.count", dict(unwound(d.book, serial, f.get("turns"), f.get("reading").strip()).body)),
    )


async def bench_lost(here: Here, request: Request) -> Response:
    """ "I lost count": what size and spool say; `take` writes it down."""
    from lodestring.folder.winding_count import estimate_count

    serial = serial_of(request)
    form = Form({}) if request.method == "GET" else await read_form(request)
    typed = {name: form.get(name).strip() for name in LOST}
    record, notices = None, []
    if any(typed.values()):
        try:
            record = await here.book.ask(lambda d: estimate_count(d.book, serial, **typed))
        except LodestringError as error:
            notices.append(Notice("problem", f"{error}."))
    if record is not None and form.get("take") == "yes":
        return await _noted(here, request, lambda d, f: ("coil.count", dict(record.body)), form)
    (card,) = await here.book.ask(lambda d: d.cards("lost-count"))
    asked = LostPage(f"Lost count: {serial}", serial, typed, record, card, tuple(notices))
    return page("bench-lost.html", asked, 422 if notices else 200)


async def bench_take(here: Here, request: Request) -> Response:
    """Which device holds the counter from now on."""

    def make(desk: WindingDesk, form: Form) -> tuple[str, dict[str, Any]]:
        from lodestring.folder.winding_count import covers

        return "counter.take", {"device": form.get("device"), "covers": covers(desk.fold(serial_of(request)))}

    return await _noted(here, request, make)


async def bench_admit(here: Here, request: Request) -> Response:
    """What another device counted belongs to the coil after all."""

    def make(desk: WindingDesk, form: Form) -> tuple[str, dict[str, Any]]:
        highest = next((d.highest for d in desk.fold(serial_of(request)).devices if d.device == form.get("device")), 0)
        return "counter.admit", {"device": form.get("device"), "to": highest}

    return await _noted(here, request, make)


# ---- what is noted ----


async def bench_check(here: Here, request: Request) -> Response:
    """Sizes and the spool at a pause, as typed with units."""

    def make(desk: WindingDesk, form: Form) -> tuple[str, dict[str, Any]]:
        from lodestring.quantity import Kind, read

        kinds = {"end": Kind.LENGTH, "side": Kind.LENGTH, "spool_mass": Kind.MASS}
        body = {n: read(form.get(n), kind).value for n, kind in kinds.items() if form.get(n).strip()}
        if not body:
            raise LodestringError("a check has a size or the spool's mass", "nothing", "what the calipers show")
        return "coil.check", body

    return await _noted(here, request, make)


async def bench_note(here: Here, request: Request) -> Response:
    """A note, a snag, a wire end, the wax, another target, or the end: by `kind`."""
    return await _noted(here, request, _of_kind)


def _of_kind(desk: WindingDesk, form: Form) -> tuple[str, dict[str, Any]]:
    from lodestring.quantity import Kind, read

    kind, text = form.get("kind"), form.get("text").strip()
    if kind == "note":
        if not text:
            raise LodestringError("a note holds some words", "none", "what you saw")
        return kind, {"text": text[:4000]}
    if kind == "coil.snag":
        return kind, {"text": text[:200]} if text else {}
    if kind == "coil.wire_end":
        return kind, {"end": form.get("end"), **({"text": text[:200]} if text else {})}
    if kind == "coil.wax":
        minutes = read(form.get("minutes") or "0 min", Kind.TIME).value / 60.0
        return kind, {"temperature": read(form.get("temperature"), Kind.TEMPERATURE).value, "minutes": minutes}
    if kind == "coil.aim":
        joined = "".join(form.get("target").split())
        if not joined.isascii() or not joined.isdigit() or not 0 < int(joined[:8]) <= 100_000:
            raise LodestringError("the target is a number of turns", f'"{form.get("target")[:20]}"', "7800")
        return kind, {"target": int(joined)}
    if kind == "coil.end":
        return kind, {"state": form.get("state")}
    raise LodestringError("a note is of a kind the page offers", f'"{kind[:20]}"', "the page's own buttons")


async def bench_measure(here: Here, request: Request) -> Response:
    """What the meter read, or what was seen of an old coil: `quantity`, `value` as typed."""

    def make(desk: WindingDesk, form: Form) -> tuple[str, dict[str, Any]]:
        from lodestring.folder.winding_repair import repair_body

        body = repair_body(form.get("quantity"), form.get("value"))
        if form.get("temperature").strip():
            from lodestring.quantity import Kind, read

            body["temperature"] = read(form.get("temperature"), Kind.TEMPERATURE).value
        return "measure", body

    return await _noted(here, request, make)


async def bench_void(here: Here, request: Request) -> Response:
    """Take one entry back; it stays in the book, and does not count."""
    return await _noted(here, request, lambda d, f: ("void", {"event": f.get("event")}))


async def bench_photo(here: Here, request: Request) -> Response:
    """A photo: its bytes as the body."""
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind not in PHOTO_KINDS:
        return refused(request, 415, "A photo is JPEG, PNG or WebP; try another file.", f"/bench/{serial_of(request)}")
    raw, serial = await request.body(), serial_of(request)

    def make(desk: WindingDesk) -> None:
        desk.fold(serial)
        desk.note(serial, "photo", {"sha256": desk.book.put_photo(raw)})

    await here.book.ask(make)
    tell(here, serial)
    return done(request, f"/bench/{serial}")


async def bench_picture(here: Here, request: Request) -> Response:
    """One photo of the coil, by its hash."""
    media, raw = await here.book.ask(lambda d: d.book.photo(str(request.path_params["sha"])))
    return Response(raw, media_type=media)


# ---- a snap ----


async def bench_snap(here: Here, request: Request) -> Response:
    """The wire snapped: what is on the coil, and three ways on. With `then` the choice is written down."""
    from lodestring.folder.winding_snap import CAUSES

    serial = serial_of(request)
    form = Form({}) if request.method == "GET" else await read_form(request)
    options, notices = None, []
    if request.method != "GET":
        try:
            if form.get("then"):
                await here.book.ask(lambda d: _choose(d, serial, form))
                tell(here, serial)
                return done(request, f"/bench/{serial}")
            options = await here.book.ask(lambda d: _options(d, serial, form))
        except LodestringError as error:
            notices.append(Notice("problem", f"{error}."))
    asked = SnapPage(f"Snapped: {serial}", serial, dict(form.fields), options, CAUSES, tuple(notices))
    return page("bench-snap.html", asked, 422 if notices else 200)


def _options(desk: WindingDesk, serial: str, form: Form) -> Any:
    from lodestring.folder.winding_snap import snap_options

    def whole(name: str) -> int:
        joined = "".join(form.get(name).split()) or "0"
        if not joined.isascii() or not joined.isdigit() or len(joined) > 7:
            raise LodestringError("turns are whole", f'"{form.get(name)[:20]}"', "0")
        return int(joined)

    return snap_options(
        desk.folder, desk.book, serial, reading=form.get("reading").strip(), overrun=whole("overrun"),
        found_end=form.get("found_end", "yes") == "yes", removed=whole("removed"),
    )  # fmt: skip


def _choose(desk: WindingDesk, serial: str, form: Form) -> None:
    desk.choose(serial, _options(desk, serial, form), form.get("then"), form.get("cause"))


# ---- the winder ----


async def bench_winder(here: Here, request: Request) -> Response:
    """Crank once: what a winder is, proposed first, then written to the workshop file (`write`)."""
    form = Form({}) if request.method == "GET" else await read_form(request)
    proposal, notices = None, []

    def make(desk: WindingDesk) -> Any:
        from lodestring.folder.winding_setup import write_winder

        found = desk.propose_winder(form.fields)
        if form.get("write") != "yes":
            return found
        if form.get("digest") != found.digest:
            raise LodestringError("the workshop file must be as it was", "another by now", "looking once more")
        write_winder(desk.folder, found)
        return None

    if request.method != "GET":
        try:
            proposal = await here.book.ask(make)
            if proposal is None:
                return done(request, "/bench")
        except LodestringError as error:
            notices.append(Notice("problem", f"{error}."))
    (card,) = await here.book.ask(lambda d: d.cards("crank-once"))
    asked = WinderPage("Set up a winder", dict(form.fields), proposal, card, tuple(notices))
    return page("bench-winder.html", asked, 422 if notices else 200)
