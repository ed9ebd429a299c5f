"""What a sentence may say, piece by piece: each look with the lamps nearest to it and the circumstances beside it.

Where the whole is not understood, its pieces mostly are. Nothing that comes of this is recorded unasked.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from msgspec import Struct, field
from msgspec.structs import replace

from tracer.observation.evidence import Symptom
from tracer.observation.words.lamps_called import NONE
from tracer.observation.words.speech import Reader
from tracer.observation.words.speech_chunks import SEPARATORS, Chunk
from tracer.observation.words.speech_circumstances import told_by
from tracer.observation.words.speech_clauses import Clause, completed, vehicle_only
from tracer.observation.words.speech_lexicon import Lexicon
from tracer.observation.words.speech_looks import ON
from tracer.observation.words.speech_parts import Heard, hear
from tracer.observation.words.speech_states import NotUnderstood

_MOST: Final = 3  # readings of one piece, and of all together
Way = tuple[Symptom, ...]


class Piece(Struct):
    """One look, whose it is, and the circumstances beside it."""

    clause: Clause = field(default_factory=Clause)
    scenes: list[int] = field(default_factory=list)
    fronted: bool = False

    @property
    def named(self) -> bool:
        return bool(self.clause.thing[0]) or (any(
            not w.place_only and not w.of_those for w in self.clause.whos) and not self.nameless)

    @property
    def nameless(self) -> bool:
        """Whether some light is told of, and not which: what it is called may be no word that is known."""
        return bool(self.clause.whos) and all(w.noun and not (
            w.functions or w.names or w.exact or w.sides or w.ends or w.quantity) for w in self.clause.whos)

    @property
    def tells(self) -> bool:
        return bool(self.clause.says) or any(w.quantity in NONE for w in self.clause.whos)


def by_pieces(text: str, lexicon: Lexicon) -> list[Way]:
    """The readings of a sentence, each piece of it read for itself; likeliest first."""
    heard = hear(text, lexicon)
    strange, heard.inside, heard.unknown = heard.unknown, [], []
    pieces = _with_whom([p for p in _pieces(heard.chunks) if (p.tells or p.named) and not (strange and p.nameless)])
    each = [[*_readings(piece, pieces, heard, text, lexicon)] for piece in pieces]
    ways: list[Way] = [()]
    for told in each:
        ways = [w + t for t in told or [()] for w in ways][:_MOST]
    alone = [told[0] for told in each if told] if len(pieces) > 1 else []
    swapped = [told[0] for told, piece in zip(each, pieces, strict=True)
               if told and any(k.exchanged for k in piece.clause.says)]
    return [w for w in (*swapped, *ways, *alone) if w]  # what is exchanged is told once, and then by its looks


def _pieces(chunks: Sequence[Chunk]) -> list[Piece]:
    """The pieces, in order: a new one begins with whoever is named after a look."""
    out = [Piece()]
    parted = True
    before: list[int] = []
    for chunk in chunks:
        now = out[-1]
        if chunk.scene is not None:
            if parted and now.tells:
                before.append(chunk.scene)
            else:
                now.fronted |= not (now.tells or now.clause.whos)
                now.scenes.append(chunk.scene)
            parted = False
            continue
        if chunk.kind in SEPARATORS:
            parted = True
            continue
        telling = chunk.say is not None and not chunk.say.beside
        told = any(not s.beside for s in now.clause.says)
        ends = parted or bool(before)
        if told and (ends if telling else chunk.say is None and (ends or now.clause.whos or now.clause.thing[0])):
            out.append(now := Piece(scenes=before, fronted=bool(before)))
            before = []
        if chunk.say is not None:
            now.clause.says.append(chunk.say)
        elif chunk.who is not None:
            now.clause.whos.append(chunk.who)
        elif chunk.kind in ("fuse", "relay") and not chunk.thing and now.clause.thing[0] == "load":
            now.clause.of, now.clause.thing = now.clause.thing[1], (chunk.kind, "")
        elif not now.clause.thing[1]:
            now.clause.thing = (chunk.kind, chunk.thing)
        parted = False
    out[-1].scenes += before
    return out


def _with_whom(pieces: list[Piece]) -> list[Piece]:
    """The pieces, those that name nobody, or only a side or end, told of the lamps of the one before."""
    last: Piece | None = None
    head = pieces[0].clause.whos[-1] if len(pieces) > 1 and not pieces[0].tells and pieces[0].clause.whos else None
    if head is not None and (head.sides or head.ends or head.names):  # "right rear cluster: tail dim, stop dead"
        pieces = pieces[1:]
        for piece in pieces:
            piece.clause.whos = [replace(w, sides=w.sides or head.sides, ends=w.ends or head.ends,
                                         names=[*head.names, *w.names]) for w in piece.clause.whos]
    sides: list[str] = []  # of which was spoken last
    for piece in pieces:
        if piece.named:
            _as_the_last(piece, last, sides)
            last = piece
        sides = next((w.sides for w in completed(piece.clause.whos) if len({*w.sides}) == 1), sides)
        if piece.named:
            continue
        if last is None:
            continue
        if last.clause.thing[0]:
            piece.clause.thing = last.clause.thing
            continue
        places = [w for w in piece.clause.whos if w.place_only and not w.other]
        whos = [replace(w, sides=p.sides or w.sides, ends=p.ends or w.ends, exact=(),
                        quantity="everything" * w.whole) for p in places for w in last.clause.whos[:1]]
        nobody = piece.nameless or not piece.clause.whos
        piece.clause.whos = whos or (last.clause.whos if nobody else piece.clause.whos)
    return pieces


def _as_the_last(piece: Piece, last: Piece | None, sides: Sequence[str]) -> None:
    """Puts to a piece what it leaves out and the one before says: "left tail bright, stop dim" is of the left one,
    "car reversing light fine, none on the caravan" of its reversing lights."""
    before = last.clause.whos[-1:] if last is not None else []
    for who in piece.clause.whos:
        if before and vehicle_only(replace(who, quantity="")) and before[0].functions:
            who.functions, who.noun = [*before[0].functions], True
        plain = who.functions and not (who.sides or who.plural or who.quantity or who.exact or who.names or who.own)
        if plain and len(piece.clause.whos) == 1:
            who.sides = [*sides]


def _readings(
    piece: Piece, pieces: Sequence[Piece], heard: Heard, text: str, lexicon: Lexicon
) -> Iterator[Way]:
    """What one piece may say: with the circumstances beside it, else with those of all, else where it means most."""
    if not piece.tells:
        piece.clause.says = [ON] if piece.scenes else []
    beside = [k for k, s in enumerate(heard.scenes) if not s.moves]
    held = next((p.scenes for p in reversed(pieces[: pieces.index(piece)]) if p.scenes and p.fronted), [])
    every = [k for p in pieces for k in p.scenes]
    seen: list[Way] = []
    for scenes in ([piece.scenes] if piece.scenes else [held, every, []]):
        around = told_by([heard.scenes[k] for k in dict.fromkeys([*beside, *scenes])], lexicon.healthy)
        if around.failed:
            continue
        own = replace(heard, around=around, scenes=[])
        clause = replace(piece.clause, whos=[replace(w) for w in completed(piece.clause.whos)], scenes=[])
        try:
            told: list[Way] = [Reader(lexicon, own, text).read([clause]).symptoms]
        except NotUnderstood as open_:
            told = [*open_.ready[:_MOST]]
        fresh = [way for way in told if way and way not in seen]
        seen += fresh
        yield from fresh
