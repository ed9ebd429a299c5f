"""How lamps and fuses look, in words: from what a person says to brightness words and flash."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from tracer.errors import SymptomError
from tracer.observation.evidence import ALL_WORDS, LIT, Flash, FuseTime, Sound
from tracer.observation.words.words import HARMLESS, SEPARATORS, listed, word_set

LOOKS_HINT: Final = "say dark, faint, dim, normal, bright, lit, flashing, slow, fast or steady"


class Look(Struct, frozen=True):
    """One thing said about a look. `weak`: gives way to another word ("glowing dimly" is dim). `does`: of a relay.
    `when` and `once`: of a fuse. `usual`: as it should be, whether that is lit or dark."""

    words: frozenset[str] | None = None
    flash: Flash | None = None
    blown: bool | None = None
    weak: bool = False
    sometimes: bool = False
    doubtful: bool = False
    does: Sound | None = None
    negated: bool = False
    moved: bool = False
    when: FuseTime = ""
    once: bool = False
    usual: bool = False
    said: str = ""

    @property
    def beside(self) -> bool:
        """Whether it only goes with a look: when, how often, how sure."""
        bare = self.words is None and self.flash is None and self.blown is None
        return bare and (self.sometimes or self.doubtful or self.moved or bool(self.when))


LIGHTS: Final = Look(LIT, said="lights")


def _table() -> dict[tuple[str, ...], Look]:
    normal, dim, dark, faint = (frozenset({w}) for w in ("normal", "dim", "dark", "faint"))
    rows: list[tuple[Look, str]] = [
        (Look(dark), "dark|out|off|dead|unlit|no light"),
        (Look(faint), "faint|faintly|barely lit|hardly lit|just lit|glimmer|glimmers|very faint|too faint|"
                      "nearly dark|almost dark|nearly out|almost out"),
        (Look(faint, weak=True), "glow|glows|glowing|glowed"),
        (Look(dim), "dim|dims|dimly|dimmed|dimmer|weak|weakly|too dim|too weak|half bright|half brightness|"
                    "dimmer than normal|dimmer than it should"),
        (Look(dim | faint), "very dim|very weak|very dimly"),
        (Look(normal, usual=True), "normal|normally|ok|okay|fine|good|works|working|work|worked|properly|correct|"
                                   "correctly|as it should|as they should|as usual|healthy"),
        (Look(normal), "full|fully|full brightness"),
        (Look(dim | normal), "nearly full|nearly normal|almost full|almost normal|nearly full brightness|"
                             "almost full brightness|nearly bright"),
        (Look(frozenset({"bright"})), "bright|too bright|very bright|too brightly|glaring|"
                                         "brighter than normal|brighter than it should"),
        (Look(normal | {"bright"}), "brightly"),
        (Look(LIT), "lit|on|alight|lights up|comes on|come on|coming on|came on|shines|shining|shine|burns|burning|"
                    "burn|illuminated"),
        (Look(ALL_WORDS), "unsure|uncertain|unknown|not sure|don't know|cannot tell|can't tell|not seen"),
        (Look(flash="flashing"), "flash|flashes|flashing|flashed|blink|blinks|blinking"),
        (Look(flash="slow"), "slow|slowly|slower|too slow|too slowly"),
        (Look(flash="fast"), "fast|faster|quick|quickly|rapid|rapidly|too fast"),
        (Look(flash="steady"), "steady|steadily|constant|constantly|continuous|continuously|permanently|"
                               "all the time"),
        (Look(sometimes=True), "sometimes|now and then|occasionally|at times|intermittently|intermittent|on and off|"
                               "from time to time|comes and goes"),
        (Look(frozenset({"dark", "faint", "dim"}), sometimes=True), "flickers|flicker|flickering|flickered"),
        (Look(doubtful=True), "perhaps|maybe|possibly|probably|i think|i believe|not quite sure|hard to tell"),
        (Look(does="clicks"), "clicks|click|clicking|clicked|ticks|ticking|pulls in"),
        (Look(does="buzzes"), "buzzes|buzz|buzzing|buzzed|chatters|chattering|chatter|hums"),
        (Look(does="silent"), "silent|quiet|makes no sound"),
        (Look(blown=True), "blow|blows|blown|blowing|melts|melted|pops"),
        (Look(blown=True, once=True), "blew"),
        (Look(when="at once"), "at once|straight away|immediately|instantly"),
        (Look(when="after a while"), "after a while|after some time"),
        (Look(moved=True), "as it is moved"),
        (Look(blown=False), "holds|hold|held|whole|intact"),
    ]
    return {tuple(p.split()): replace(look, said=p) for look, phrases in rows for p in phrases.split("|")}


_LOOKS: Final[Mapping[tuple[str, ...], Look]] = _table()
_LONGEST: Final = max(len(p) for p in _LOOKS)
_NOT: Final = word_set(
    "not never doesn't don't didn't isn't aren't won't wasn't weren't doesnt dont isnt wont cannot can't hasn't"
)
# "on" before these is "the indicator on the left", not a look.
_AFTER_ON: Final = word_set("the left right rear front lh rh my its both each either one that")
_AFTER_FULL: Final = frozenset({"beam", "beams"})
_LIGHTING: Final = frozenset({"light", "lights", "lighting"})


def look_at(words: Sequence[str], at: int) -> tuple[Look | None, int]:
    """The look that begins at `at` and how many words it takes; (None, 0) if none does."""
    if words[at] in _NOT or words[at] == "nothing":
        after = at + 1
        while after < len(words) and words[after] in HARMLESS and words[after] not in ("on",):
            after += 1
        if after < len(words) and (words[at], words[after]) in _LOOKS:
            return _LOOKS[words[at], words[after]], after - at + 1
        if after >= len(words):
            return None, 0
        if words[at] == "nothing" and words[after] == "else":
            after += 1  # the look of everything else, whose words the caller supplies
            if after >= len(words):
                return None, 0
        if words[after] in _LIGHTING:
            return Look(frozenset({"dark"}), said="not lit"), after - at + 1
        look, length = look_at(words, after) if words[after] not in _NOT else (None, 0)
        return (_negated(look), after - at + length) if look else (None, 0)
    for size in range(min(_LONGEST, len(words) - at), 0, -1):
        phrase = tuple(words[at : at + size])
        if phrase not in _LOOKS:
            continue
        following = words[at + size] if at + size < len(words) else ""
        if following in {"on": _AFTER_ON, "full": _AFTER_FULL}.get(" ".join(phrase), ()):
            return None, 0
        return _LOOKS[phrase], size
    return None, 0


def _negated(look: Look) -> Look:
    said = f"not {look.said}"
    if look.blown is not None:
        return Look(blown=not look.blown, said=said)
    if look.flash is not None:
        flash: Flash | None = "flashing" if look.flash == "steady" else "steady" if look.flash == "flashing" else None
        if flash is None:
            raise SymptomError(f"“{said}” leaves open how it flashes", "say flashing, slow, fast or steady")
        return Look(flash=flash, negated=True, said=said)
    if look.does is not None:
        return Look(does="clicks" if look.does == "silent" else "silent", said=said)
    if look.words is None:
        raise SymptomError(f"“{said}” does not say how it looks", LOOKS_HINT)
    if look.said in ("work", "works", "working", "worked"):
        return Look(frozenset({"dark"}), said=said)
    if look.said.startswith("full"):
        return Look(frozenset({"faint", "dim"}), said=said)
    left = ALL_WORDS - look.words
    return Look(left or ALL_WORDS, said=said)


def combined(alternatives: Sequence[Sequence[Look]]) -> tuple[frozenset[str], Flash | None]:
    """What several looks say together: all of each inner list hold, one of the lists does.

    Raises:
        SymptomError: Looks that cannot both be.
    """
    pairs = [_together(looks) for looks in alternatives if looks]
    words = frozenset(w for ws, _ in pairs for w in ws)
    flashes = {f for _, f in pairs}
    if len(flashes) == 1:
        return words, flashes.pop()
    return words, "flashing" if "steady" not in flashes and None not in flashes else None


def _together(looks: Sequence[Look]) -> tuple[frozenset[str], Flash | None]:
    said = listed([f"“{k.said}”" for k in looks], "and")
    flashes = {k.flash for k in looks if k.flash}
    if len(flashes) == 2 and "flashing" in flashes and "steady" not in flashes:
        flashes.discard("flashing")
    if len(flashes) > 1:
        raise SymptomError(f"{said} cannot both be", "join looks by “or” when unsure which it was")
    if all(k.beside for k in looks):
        raise SymptomError(f"{said} does not say how it looks", LOOKS_HINT)
    flash = next(iter(flashes), None)
    firm = [k.words for k in looks if k.words is not None and not k.weak]
    given = firm or [k.words for k in looks if k.words is not None]
    if given:
        words = frozenset.intersection(*given)
    else:  # "does not flash" alone may be said of a dark lamp
        words = ALL_WORDS if all(k.negated and k.flash == "steady" for k in looks) else LIT
    if flash not in (None, "steady"):
        words &= LIT
    if not words:
        raise SymptomError(f"{said} cannot both be", "join looks by “or” when unsure which it was")
    return words, flash


def modified(alternatives: Sequence[Sequence[Look]]) -> tuple[bool, bool, bool]:
    """Whether "sometimes", "perhaps" and "as it is moved" were said with the looks."""
    looks = [k for group in alternatives for k in group]
    return any(k.sometimes for k in looks), any(k.doubtful for k in looks), any(k.moved for k in looks)


def parse_look(tokens: Sequence[str]) -> tuple[frozenset[str], Flash | None] | None:
    """A look said alone, without a lamp; None if a word is not understood.

    Raises:
        SymptomError: Looks that cannot both be.
    """
    looks: list[list[Look]] = [[]]
    at = 0
    while at < len(tokens):
        look, length = look_at(tokens, at)
        if look is not None and look.blown is None and look.does is None and not (look.when or look.moved):
            looks[-1].append(look)
            at += length
        elif tokens[at] == "or":
            looks.append([])
            at += 1
        elif tokens[at] in HARMLESS or tokens[at] in SEPARATORS or tokens[at] in ("lamp", "light", "test"):
            at += 1
        else:
            return None
    return combined(looks) if any(looks) else None

