"""The sheet round the picture: title above, suspects, test points and legend below, the size of the paper."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Final

from msgspec import Struct

from tracer import standards
from tracer.harness.devices import Conductor, Device, FlasherContact, Joint, RelayContact, SwitchContact
from tracer.harness.node import node_of
from tracer.present.drawing.canvas import INK, PAPER, Canvas, Page
from tracer.present.drawing.graph import Picture
from tracer.present.drawing.layout import Layout
from tracer.present.drawing.lettering import clean, width_of, wrap
from tracer.present.drawing.points import conducts
from tracer.present.drawing.scope import place_words
from tracer.present.drawing.signs import (
    LINE,
    SIZE,
    UNKNOWN_HUE,
    Flag,
    Look,
    arrows_along,
    draw_flags,
    draw_insulated,
    draw_marks,
    draw_way,
    draw_wire,
    flags_width,
    hues,
    marks_width,
    volts_text,
)
from tracer.present.drawing.view import View

MARGIN: Final = 15.0  # 5.3 mm: printers leave 4 mm and more
LEAST: Final = 9.0 / SIZE  # lettering never smaller than 9 pt
MOST: Final = 1.15
A_SIZES: Final = ((595.0, 842.0), (842.0, 1191.0), (1191.0, 1684.0), (1684.0, 2384.0))  # A4 to A1


class Entry(Struct, frozen=True):
    """One entry of the key: a sign and words."""

    sign: Callable[[Canvas, float, float], None] | None  # None: a heading
    sign_width: float
    lines: tuple[str, ...]

    @property
    def height(self) -> float:
        return LINE * len(self.lines) + 2

    def draw(self, canvas: Canvas, x: float, y: float) -> None:
        if self.sign is not None:
            self.sign(canvas, x, y)
        for i, line in enumerate(self.lines):
            canvas.text(x + self.sign_width, y + LINE * i, line, SIZE, bold=self.sign is None)


class Sheet(Struct, frozen=True):
    """Paper of a size in points, and how large what is on it is drawn."""

    width: float
    height: float
    scale: float
    inner: float  # width between the margins before scaling

    def better_than(self, other: Sheet) -> bool:
        mine, theirs = self.width * self.height, other.width * other.height
        return (mine, -self.scale) < (theirs, -other.scale)


def choose_sheet(layout: Layout, picture: Picture, look: Look, view: View) -> Sheet:
    """The smallest paper on which the lettering stays readable."""

    def height(inner: float) -> float:
        return _head(None, view, inner) + layout.height + _foot(None, 0, picture, look, view, inner)

    for portrait in A_SIZES:
        best: Sheet | None = None
        for w, h in (portrait, portrait[::-1]):
            room = w - 2 * MARGIN
            for step in range(round(100 * MOST), round(100 * LEAST) - 1, -1):
                scale = step / 100
                inner = room / scale
                fits = layout.width <= inner and layout.height * scale <= h - 2 * MARGIN  # soon said, mostly no
                if fits and height(inner) * scale <= h - 2 * MARGIN:
                    if best is None or scale > best.scale + 0.02:
                        best = Sheet(w, h, scale, inner)
                    break
        if best is not None:
            return best
    inner = max(layout.width, 500.0)  # a roll of paper
    return Sheet(inner + 2 * MARGIN, height(inner) + 2 * MARGIN, 1.0, inner)


def compose(canvas: Canvas, sheet: Sheet, layout: Layout, picture: Picture, look: Look, view: View) -> Page:
    """Draw title, picture and key."""
    top = _head(canvas, view, sheet.inner)
    picture_alone = Canvas()
    layout.draw(picture_alone)
    canvas.ops += picture_alone.moved(max(0.0, (sheet.inner - layout.width) / 2), top)
    _foot(canvas, top + layout.height, picture, look, view, sheet.inner)
    return Page(sheet.width, sheet.height, sheet.scale, MARGIN, MARGIN)


def _head(canvas: Canvas | None, view: View, width: float) -> float:
    """Title, subtitle and vehicle state; returns their height."""
    y = 8.0
    state = f"Vehicle state: {view.state}" if view.state else ""
    stop = "" if not (view.subtitle and state) else "  " if view.subtitle[-1] in ".?!" else ".  "
    below = [view.subtitle + stop + state]
    if width_of(clean(below[0]), SIZE + 1) > width:
        below = [view.subtitle, state]
    texts = [(view.title, 14.0, True), *((t, SIZE + 1, False) for t in below)]
    for text, size, bold in texts:
        for line in wrap(text, width, size, bold=bold, stretch=1.0) if text else ():
            if canvas is not None:
                canvas.text(0, y, line, size, bold=bold)
            y += size * 1.3
    if canvas is not None:
        canvas.line([(0, y - 3), (width, y - 3)], 0.8)
    return y + 7


def _foot(canvas: Canvas | None, y: float, picture: Picture, look: Look, view: View, width: float) -> float:
    """The key, in columns like a newspaper; returns its height."""
    count = max(1, int(width // 185))
    column = width / count
    blocks: list[list[Entry]] = []  # a heading goes with its first entry
    for heading, entries in _sections(picture, look, view, column - 14):
        if entries:
            blocks.append([Entry(None, 0.0, (heading,)), entries[0]])
            blocks += [[e] for e in entries[1:]]
    if not blocks:
        return 0.0
    heights = [sum(e.height for e in b) for b in blocks]
    limit = max(*heights, sum(heights) / count)
    while len(parts := _fill(heights, limit)) > count:
        limit += 2.0
    if canvas is not None:
        canvas.line([(0, y + 6), (width, y + 6)], 0.8)
        for n, part in enumerate(parts):
            at = y + 16
            for block in part:
                for entry in blocks[block]:
                    entry.draw(canvas, n * column, at)
                    at += entry.height
    return 16 + limit


def _fill(heights: list[float], limit: float) -> list[list[int]]:
    """Blocks in columns no higher than `limit`, in their order."""
    columns: list[list[int]] = [[]]
    used = 0.0
    for i, height in enumerate(heights):
        if columns[-1] and used + height > limit + 0.01:
            columns.append([])
            used = 0.0
        columns[-1].append(i)
        used += height
    return columns


def _sections(picture: Picture, look: Look, view: View, width: float) -> list[tuple[str, list[Entry]]]:
    return [
        ("Not drawn here", [_words(name, width) for name in look.left_out]),
        ("Suspects", _suspects(picture, view, width)),
        ("Test points", _test_points(picture, view, width)),
        ("Signs and letters", _legend(picture, look, view, width)),
    ]


def _suspects(picture: Picture, view: View, width: float) -> list[Entry]:
    out = []
    shown = picture.names()
    for mark in sorted(view.suspects, key=lambda m: m.rank):
        w = marks_width((mark.rank,)) + 5

        def sign(c: Canvas, x: float, y: float, rank: int = mark.rank) -> None:
            draw_marks(c, x, y, (rank,))

        words = mark.says if shown & set(mark.elements) else f"{mark.says} (not in this picture)"
        out.append(Entry(sign, w, tuple(wrap(words, width - w, SIZE, 8, stretch=1.0))))
    return out


def _test_points(picture: Picture, view: View, width: float) -> list[Entry]:
    out = []
    for label, node in view.test_points:
        flag = Flag(label)
        w = flags_width((flag,)) + 5
        place = place_words(picture.harness, node)
        words = f"{node}: {place}" if place else node
        if view.measured.get(label):
            words = f"{view.measured[label]}, {words}"

        def sign(c: Canvas, x: float, y: float, flag: Flag = flag) -> None:
            draw_flags(c, x, y, (flag,))

        out.append(Entry(sign, w, tuple(wrap(words, width - w, SIZE, 4, stretch=1.0))))
    return out


def _legend(picture: Picture, look: Look, view: View, width: float) -> list[Entry]:
    devices: list[Device] = [d for r in picture.runs for d in r.devices]
    drawn = [*devices, *(d for u in picture.units.values() for d in u.devices)]
    out: list[Entry] = []
    sign_w = 34.0

    def add(sign: Callable[[Canvas, float, float], None], words: str) -> None:
        out.append(Entry(sign, sign_w, tuple(wrap(words, width - sign_w, SIZE, 3, stretch=1.0))))

    def wire(look: Look) -> Callable[[Canvas, float, float], None]:
        sample = Conductor("sample", "", "", 0.0)
        return lambda c, x, y: draw_wire(c, [(x + 2, y), (x + 27, y)], sample, look)

    if any(look.live(d.name) for d in drawn):
        def current(c: Canvas, x: float, y: float) -> None:
            wire(Look(flow={"sample": 1.0}))(c, x, y)
            c.polygon([(x + 10.4, y - 3.6), (x + 10.4, y + 3.6), (x + 17.6, y)], INK)

        add(current, "carries current")
    if look.back_feed & {d.name for d in drawn}:
        def back(c: Canvas, x: float, y: float) -> None:
            wire(Look(flow={"sample": 1.0}))(c, x, y)
            arrows_along(c, [(x + 2, y), (x + 27, y)], True, 13)

        add(back, "back-feed, not intended")
    if view.suspects:
        add(wire(Look(ranks={"sample": (1,)})), "suspect")
    for words in _contact_words(devices):
        add(lambda c, x, y: draw_way(c, (x + 14, y), False), words)
    if any(isinstance(d, Joint) and d.name in look.crossed for d in devices):
        add(lambda c, x, y: draw_way(c, (x + 14, y), True, True), "pin in the way of another, drawn as suspected")
    if any(u.kind == "dot" for u in picture.units.values()) or any(
        n in picture.harness.splices for r in picture.runs for n in r.nodes
    ):
        add(lambda c, x, y: c.circle((x + 14, y), 3.0, INK), "splice or joined wires")
    if any(u.kind == "end" for u in picture.units.values()):
        add(lambda c, x, y: c.circle((x + 14, y), 2.6, PAPER, width=1.2), "goes on, not drawn")
    if any(u.kind == "earth" and not conducts(u, picture.harness) for u in picture.units.values()):
        add(lambda c, x, y: draw_insulated(c, (x + 14, y)), "stud in something that does not conduct")
    if any(isinstance(d, Conductor) and hues(d.colour, look.colour_code)[0] == UNKNOWN_HUE for d in devices):
        add(wire(Look()), "colour not given")
    out += _voltages(view, width)
    out += [_words(words, width) for words in (*_as_drawn(drawn, view), *_unseen_words(picture, devices))]
    words = _colours(picture, [d for d in devices if isinstance(d, Conductor)])
    if words:
        out.append(_words(f"{picture.harness.colour_code}: {words}; sections in mm²", width))
    return out


def _voltages(view: View, width: float) -> Iterator[Entry]:
    """How calculated voltages are written, and measured ones."""
    if view.volts:
        sample = volts_text(9.9)
        at = width_of(sample, SIZE) + 6
        yield Entry(lambda c, x, y: c.text(x, y, sample, SIZE), at, tuple(wrap(
            "calculated, to the body, down to the next figure", width - at, SIZE, 3, stretch=1.0)))
    if any(view.measured.get(label) for label, _ in view.test_points):
        measured = (Flag("T1", "9.9 V"),)
        beside = flags_width(measured) + 5

        def sign(c: Canvas, x: float, y: float) -> None:
            draw_flags(c, x, y, measured)

        yield Entry(sign, beside, tuple(wrap("measured there", width - beside, SIZE, 3, stretch=1.0)))


def _contact_words(devices: list[Device]) -> Iterator[str]:
    """How ways and bullets are lettered, by the first of each."""
    for kind, says in (("way", "connector {0}, way {1}"), ("bullet", "bullet {1} in block {0}")):
        one = next((node_of(d.a) for d in devices if isinstance(d, Joint) and d.kind == kind), None)
        if one is not None:
            yield f"{one.owner}/{one.terminal}: {says.format(one.owner, one.terminal)}"


def _as_drawn(drawn: list[Device], view: View) -> Iterator[str]:
    """In which state contacts are drawn, and in which phase."""
    if any(isinstance(d, (SwitchContact, RelayContact)) for d in drawn):
        yield "contacts drawn " + ("as in this state" if view.state else "at rest")
    if view.state and any(isinstance(d, FlasherContact) for d in drawn):
        yield "flasher unit drawn as it lights"


def _unseen_words(picture: Picture, devices: list[Device]) -> Iterator[str]:
    """What the question marks stand for."""
    if any(isinstance(d, Conductor) and d.wire in picture.untraced for d in devices):
        yield "?: nobody has followed this wire on the vehicle"
    if any(isinstance(d, Joint) and d.name in picture.untraced for d in devices):
        yield "mounting ?: nobody has seen where it is bolted"


def _words(text: str, width: float) -> Entry:
    return Entry(lambda c, x, y: None, 0.0, tuple(wrap(text, width, SIZE, 12, stretch=1.0)))


def _colours(picture: Picture, conductors: list[Conductor]) -> str:
    """The colour letters that occur, spelt out."""
    table = standards.COLOUR_CODES.get(picture.harness.colour_code, {})
    found: dict[str, str] = {}
    words_to_letters = {v: k for k, v in table.items()}
    for d in conductors:
        for word in standards.colour_words(d.colour, picture.harness.colour_code) or () if table else ():
            found[words_to_letters[word]] = word
    return ", ".join(f"{k} {found[k]}" for k in sorted(found))

