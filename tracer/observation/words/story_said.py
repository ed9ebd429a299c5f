"""The vehicle's story as far as a sentence tells it beside the complaint: "since I fitted a new bulb", "changed the
bulb, no difference", "ever since the car was welded"."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from msgspec import Struct

from tracer.observation.evidence import Symptom
from tracer.observation.story import FOUND_GOOD, NO_STORY, Story
from tracer.observation.words.patterns import Pattern

_NEXT: Final = r"(?:(?<=, )|(?<=and )|(?<=but ))"  # told beside the complaint
_FIRST: Final = rf"(?:\A|{_NEXT})"
_HAVE: Final = r"(?:(?:i|we|he|she|they|have|has|had|already|just|i've|we've|he's|even|been|got|it's|its|says) )*"
_WORKED_ON: Final = r"(?:bulbs?|globes?|holders?|contacts?|connections?)"
_IN_VAIN: Final = (
    r"(?: (?:(?:but|and|it|that|made|makes|with|still) )*(?:no (?:change|difference|better|joy|odds)|the same))?"
)
_TROUBLE: Final = r"(?:the |it |same |my )*(?:fault|problem|trouble|dead one|bad one)?"
_STILL: Final = (
    r"(?:no|still no|makes no|made no) (?:change|difference|better|joy|odds)|"
    r"still (?:the same|nothing|nowt|no good|no light)|(?:all |exactly |just )*"
    rf"(?:the )?same(?: again| thing)?|no different|{_TROUBLE} (?:stayed|stays|remained|remains)(?: put| where "
    r"it was| on (?:the same|that) side| there)?"
)
# That the fault went with a bulb: it was the bulb, and nothing of a lamp found good.
_WENT_WITH_IT: Final = (
    rf"{_TROUBLE} ?(?:has |had )?(?:moved|followed|swapped sides|changed sides|(?:went|goes|moves|moved) with)"
    r"(?: (?:with|the|it|them|that|bulbs?|over|across|to|other|side|too))*"
)
_ELSEWHERE: Final = (
    r"(?:another|a different|the other|someone else|somebody else|(?:my|the|his|her) (?:\w+)) "
    r"(?:(?:tow|hire|other|old|new) )?(?:car|van|truck|tractor|vehicle|ute|motor)"
)
# How it is said, in the order in which it is looked for.
SAID_DONE: Final = (
    rf"{_FIRST}{_HAVE}(?:tried|put|had|swapped) (?:on )?(?:an? )?(?:different|another) (?:trailer|caravan|car|van)"
    r"(?: on)?(?= *(?:,|\||$))",
    rf"{_FIRST}{_HAVE}(?:fitted|installed|wired(?: up| in)?|replaced|changed|renewed|repaired|welded|painted) "
    r"(?:(?!now\b|no\b|still\b)[^ ,|]+ ){1,8}?(?:, )?(?:and |but )?(?:since then |ever since |since )?now(?= )",
    rf"{_FIRST}(?:(?:i|we|he|she|they|just|have|has) )*had (?![^,|]*\b(?:fuse|bulb|plug|relay)s?\b)[^,|]{{3,40}}? "
    rf"(?:off|"
    r"apart|painted|welded|resprayed|repaired|fixed|serviced|done)(?: [^,|]*?)?(?= ,)",
    rf"{_FIRST}(?:(?:i|we|he|she|they|just|have|has) )*(?:pulled|took|taken) [^,|]{{3,40}}? (?:apart|out|off) and "
    r"(?:put|pushed|plugged|pressed) [^,|]*?(?= ,)",
    rf"{_FIRST}{_HAVE}(?:changed?|replaced|swapped|renewed|fitted|tried|put) "
    rf"(?:(?!and\b|but\b)\w+ ){{0,5}}?(?:bulbs?|globes?)(?: (?:in|too|already|over|round|about|across|"
    rf"side to side|left (?:to|for|and|with) right|right (?:to|for|and|with) left|twice|\w+ times))*{_IN_VAIN}(?= "
    rf"|$)",
    rf"{_FIRST}{_HAVE}(?:checked|changed|replaced|swapped|renewed|tested|tried|fitted|cleaned|put|stuck) "
    rf"(?:(?:in|to|with|for|the|a|all|both|new|good|another|it|them|over|round|about|{_WORKED_ON}) ?)+(?= |$)",
    rf"(?:even )?with (?:(?:a|the|another|both|all) )*(?:new|another|good|different|fresh) {_WORKED_ON}"
    r"(?: (?:in it|in|fitted|put in|there))?(?= |$)",
    rf"(?:(?:even )?(?:though|although|but) |{_FIRST})(?:(?:the|a|all|both|new) )*{_WORKED_ON} "
    r"(?:has |have |is |are |was |were )?(?:already |just )?(?:been )?(?:changed|replaced|renewed|swapped|"
    r"tested|checked)(?: already| over| round| with (?:the )?(?:one (?:on|from) (?:the )?)?(?:left|right|other)"
    r"(?: one| side)?)*",
    rf"{_NEXT}(?:(?:with|even with|a|the|all|both|it's|it|has|have|got|there is|there's) )*(?:brand )?new "
    r"(?:bulbs?|globes?)(?: (?:is|are|in|fitted|put in|made|no|change|difference|better|good|joy|now|too))*",
    rf"{_NEXT}(?:(?:the|all|both) )*{_WORKED_ON} (?:is|are|look|looks|seem|seems) "
    r"(?:all )?(?:ok|okay|fine|good|new|sound|intact|not blown)(?: (?:(?:tested|checked|tried|it|them|on|with|across|"
    r"the|a|battery|meter|bench) ?)+(?= |$))?",
    rf"{_NEXT}(?:(?:the|all|both) )*{_WORKED_ON} (?:all )?(?:ok|okay|fine|good|sound|intact|not blown|checked|"
    r"tested|new|brand new|renewed|cleaned)"
    r"(?= *(?:,|\||$))",
    rf"{_NEXT}(?:{_STILL})(?= *(?:,|\||$))",
    rf"{_NEXT}{_WENT_WITH_IT}(?= *(?:,|\||$))",
    rf"{_FIRST}(?:(?:i|we|he|she|have|has|just|been) )*(?:had|towed|pulled|borrowed) (?:(?:the|a|my|his) )?"
    r"(?:trailer|caravan)(?: (?!,)[^ |]+)*(?= ,)",
    rf"{_FIRST}(?:(?:i|we|he|she|have|has|just|tried|had|but) )*(?:(?:the|my|its|same) )?(?:trailer|caravan)"
    r"(?: lights| lamps)? (?:(?:is|are|was|were|works?|worked|all|fine|ok|okay|good|perfect|perfectly) )*"
    rf"(?:on|behind|with) {_ELSEWHERE}"
    r"(?: (?:and |, )?(?:it|it's|it is|they|they're|all|works?|is|are|was|fine|ok|good|perfect))*",
    # How it does without the trailer is no state of the vehicle that the file is of.
    rf"{_FIRST}(?:(?:all|it's|they're|everything|works?|is|are) )*(?:fine|ok|okay|good|well)(?: (?:is|are))? "
    r"(?:without|with no) (?:(?:the|a|my) )?(?:trailer|caravan)(?: on)?(?= *(?:,|\||$))",
    rf"{_FIRST}(?:with|when|without) (?:(?:the|a|my) )?(?:trailer|caravan)(?: is)?(?: (?:off|disconnected|un\w+))?"
    r" ?,? ?(?:all|everything|it|they)(?:'s| is| are)?(?: all)? (?:well|fine|ok|okay|good|works?)(?= *(?:,|\||$))",
    r"after (?:an? |the )?(?:(?:car|jet|pressure|engine|steam) ?)?(?:wash|washing|clean|valet|respray|"
    r"welding)(?= |$)",
    r"(?:ever )?since [^,|]*[^,| ]",
    r"after (?:i|we|he|she|they|someone|somebody|the|it|having|fitting|changing)\b(?! (?:brake|while))(?! few)(?! a )"
    r"[^,|]*?(?:fitted|changed|wash(?:ed)?|repair(?:ed)?|serviced?|replaced|done|installed|put|had|rewired|welded"
    r"|painted|"
    r"work|garage|mot)\b[^,|]*",
)
_AFTER: Final = Pattern(r"(?:ever )?(?:since|after) ")
_AND_NOW: Final = Pattern(r"(?P<what>.+?)(?: ,)?(?: and| but)?(?: since then| ever since| since)? now")
_BULB: Final = Pattern(r"\b(?:bulbs?|globes?|lamps?|leds?)\b")
_RENEWED: Final = Pattern(
    r"\b(?:new|another|changed|changing|replaced|replacing|swapped|swapping|renewed|renewing|fitted|fitting|put"
    r"|tried)\b")
_SOUND: Final = Pattern(r"\b(?:ok|okay|fine|good|sound|intact|not blown|checked|tested)\b")
_NO_BETTER: Final = Pattern(_STILL)
_MOVED: Final = Pattern(_WENT_WITH_IT)
# What was done or happened last, as it is said, and as a story knows it.
_WORKS: Final[tuple[tuple[str, Pattern], ...]] = tuple((work, Pattern(said)) for work, said in (
    ("trailer socket", r"\btow ?(?:bar|hitch|ball|ing)\w*|\b(?:trailer|caravan) (?:socket|plug|electrics|wiring)\b|"
                       r"\bhitch\b"),
    ("radio", r"\b(?:radio|stereo|cd player|alarm|amp|amplifier|speakers?|dash ?cam|phone kit|tracker)\b"),
    ("body repair", r"\b(?:weld\w*|panel ?beat\w*|respray\w*|(?:re)?paint\w*|body ?work|body ?shop|accident|crash\w*|"
                    r"(?:new |changed the |replaced the )(?:wing|bumper|door|tailgate|boot lid|cab)|"
                    r"(?:wings?|bumpers?|valance|grille|tailgate|boot lid|trim|lamp unit|light unit|cluster)"
                    r"(?: (?:was|were|is|has|have|had|been|came|come|taken|back|it))* off)\b"),
    ("loom opened", r"\b(?:loom|harness|wiring|wires?|rewir\w*|engine (?:out|swap|change))\b"),
    ("washed", r"\b(?:wash\w*|steam ?clean\w*|hosed|flood\w*|ford|rain|storm|puddles?)\b"),
    ("stood for years", r"\b(?:stood|stand|standing|laid up|barn|in store|storage|winter|(?:not )?been used)\b"),
))


class Told(Struct, frozen=True):
    """A story told beside a complaint, and the words of it that tell nothing."""

    story: Story = NO_STORY
    unused: tuple[str, ...] = ()

    def assumed(self) -> list[str]:
        """What was taken, in words."""
        return [f"of the vehicle: {self.story.says()}"] if self.story.told else []


def story_of(phrases: Sequence[str], symptoms: Sequence[Symptom]) -> Told:
    """What phrases like "since …" and "changed the bulb" tell. Work on a lamp was on that of the complaint."""
    works: dict[str, None] = {}
    since, unused = "", []
    if any(_MOVED.fullmatch(said) for said in phrases):  # what was swapped is what is wrong: no story has that
        return Told(unused=(", ".join(phrases),))
    for said in phrases:
        if now := _AND_NOW.fullmatch(said):  # "fitted a tow bar and now …"
            said = f"since {now['what']}"
        after = _AFTER.match(said)
        if _BULB.search(said) and (_RENEWED.search(said) or (not after and _SOUND.search(said))):
            works["lamp changed" if after else FOUND_GOOD] = None
        elif after:
            works |= dict.fromkeys(work for work, known in _WORKS if known.search(said))
        elif not _NO_BETTER.fullmatch(said):
            unused.append(said)
            continue
        if after:
            since = said[after.end():]
    if not works and not since:
        return Told(unused=tuple(phrases))
    lamps = {"lamp changed", FOUND_GOOD} & {*works}
    return Told(Story(work=tuple(works), where=_where(symptoms) if lamps else "", since=since), tuple(unused))


def _where(symptoms: Sequence[Symptom]) -> str:
    """The words that all lamps of a complaint have in common."""
    named = [name.split() for s in symptoms for name in sorted(s.lamps_named())]
    return " ".join(w for w in named[0] if all(w in other for other in named)) if named else ""
