"""Turns of phrase about what is heard: a horn that gives nothing, a buzzer that cuts in and out, a flasher that
ticks too fast. Put into the words that are read.

Common practice, no source: how tradesmen and owners speak.
"""

from __future__ import annotations

from typing import Final

from tracer.observation.words.patterns import Pattern, put_plainly

_HORN: Final = r"(?:the |my )?(?:horns?|hooter)(?: ?(?:button|push|ring|pad))?"
_PRESS: Final = r"(?:press|push|hit|try|sound|honk|toot|use|prod|lean on|pres)(?:es|s|ed|ing)?"
_SILENCE: Final = (
    r"(?:nothing|nowt|silence|no sound|no noise|not a (?:sound|peep|thing|squeak|sausage)|no horn|no response)(?: "
    r"(?:is coming|"
    r"coming|comes(?: out)?|happens|at all|whatsoever|is heard|to be heard))*"
)
_LOAD: Final = r"(?P<l>(?:the |reversing )*(?:horn|hooter|buzzer|bleeper|beeper|wipers?|blower|heater fan|fan|bell))"
_ROWS: Final = tuple((hints, Pattern(said, 2), plain) for hints, said, plain in (
    (("horn", "hooter"), rf"^(?:when |if |as )?(?:i |you |we )?{_PRESS} (?:on )?{_HORN}(?:,? and| then|,|:| -)* "
     rf"?(?:then )?(?:(?:i |you "
     rf"|we |it |there )?(?:gets?|hears?|have|has|is|'s|gives?|does|comes) )?{_SILENCE}(?P<rest>,.*|)$",
      r"horn dead\g<rest>"),
    (("horn", "hooter"), rf"^{_SILENCE} (?:when|if|whenever|as) (?:i |you |we )?{_PRESS} (?:on "
     rf")?{_HORN}(?P<rest>,.*|)$",
     r"horn dead\g<rest>"),
    (("horn", "hooter"), rf"^(?:no|dead) (?:horn|hooter),? (?:when|if|whenever|as|however) (?:i |you |we )?(?:hard |"
     rf"much )*(?:i )?"
     rf"{_PRESS} (?:on )?(?:the |my )?(?:horn )?(?:button|push|ring|pad|horn|wheel)(?P<rest>,.*|)$",
      r"horn dead\g<rest>"),
    (("horn", "hooter", "toot"), r"^(?:i get |there's |i have |i've |got )*(?:nothing|no (?:sound|noise|response)|"
     r"not a (?:sound|peep|toot)) (?:from|out of) (?:the |my )?(?:horn|"
     r"hooter)(?: at all)?(?:,? (?:when|if|on) (?:i )?press(?:ing)? (?:the )?(?:horn )?(?:button|push|it))?\W*$|^no "
     r"toot\W*$", "horn dead"),
    (("audible", "klaxon"), r"\b(?:audible warning(?: device| instrument)?|klaxon)\b", "horn"),
    (("tick", "click"), r"\b(?:it|they) (?:just )?(?:clicks?|ticks?) (?:away )?(?:real(?:ly)? |very |too |so |dead "
     r")*(?P<f>fast|quick(?:ly)?|rapid(?:ly)?)\b", r"indicators \g<f>"),
    (("itself", "own"), r"\ball (?=by itself|by themselves|on its own)", ""),
    (("buzzer", "bleeper", "beeper", "horn", "wiper", "blower", "fan", "bell"), rf"\b{_LOAD} (?:(?:is |goes |just "
     rf")*(?:cut(?:s|ting)? "
     r"in and out|comes? and goe?s?|intermittent|on and off|in and out|hit and miss|hit or miss))\b",
     r"\g<l> sometimes does not work"),
    # The flasher is heard, and its rate is that of the lamps.
    (("ticker", "clicker", "ticking", "clicking"), r"\b(?:the |my )?(?:ticker|clicker|ticking(?: noise| sound)?|"
     r"clicking(?: noise|"
     r" sound)?) (?:is |are |was )?(?=(?:goes|far|much|way|races?|too|very|sounds|gets|going|speeds|runs|so|really|"
     r"mad|fast|quick|double) ?)", "indicators "),
    (("tick", "click"), r"\b(?:(?:why )?(?:does |do )?(?:it|they|she) )(?:is |are )?(?:click|tick)(?:s|ing)? (?:so |"
     r"too |very |really |"
     r"dead |much too |far too )*(?P<f>fast|quick(?:ly)?|rapid(?:ly)?|slow(?:ly)?)\b", r"indicators \g<f>"),
    (("nor ", "neither"), r"^(?P<a>[^,]+?) (?P<d>not working|dead|out|doesn't work|won't work|don't work|isn't "
     r"working|aren't working|"
     r"is dead|are dead),? (?:and |but )?(?:nor|neither)(?: do| does| are| is| will)? (?:the |my |its "
     r")?(?P<b>[^,]+?)(?: (?:work|"
     r"working|either))*\W*$", r"\g<a> not working, \g<b> not working"),
    (("not even",), r",? (?:and |but )?not even (?:a |the |an )?(?:click|tick|peep|squeak|glimmer|flicker|glow|"
     r"high(?: level)? (?:one|"
     r"lamp|light)|third one|top one|one|hint)[^,]*(?=\W*$)", ""),
))


def sounds_plainly(text: str) -> str:
    """The sentence with what is heard, or not, in the words that are read."""
    return put_plainly(text, _ROWS)
