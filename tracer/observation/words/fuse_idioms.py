"""Turns of phrase about fuses: by number in words, replaced again and again, and that hold otherwise; and what was
done to the vehicle before it began. Put into the words that are read.

Common practice, no source: how tradesmen and owners speak.
"""

from __future__ import annotations

import re
from typing import Final

from tracer.observation.words.patterns import Pattern, put_plainly

_NUMBERS: Final = {w: str(n) for n, w in enumerate(
    ["one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"], 1)}
_NUMBER: Final = rf"(?:\d{{1,2}}|{'|'.join(_NUMBERS)})"
_CALLED: Final = (
    Pattern(rf"\b(?:number|no\.?|nr\.?|num) ?(?P<n>{_NUMBER}) fuse\b", 2),
    Pattern(rf"\bfuse (?:number|no\.?|nr\.?|num|#) ?(?P<n>{_NUMBER})\b", 2),
    Pattern(rf"\bfuse (?P<n>{'|'.join(_NUMBERS)})\b(?! (?:of|time|more))", 2),
)
_LAST: Final = Pattern(rf"^(?P<a>(?:the |a |my )?(?:\w+ ){{0,2}}?)fuse (?P<b>(?!\d)[^,]*?),? \(?(?:it's |that's "
 rf")?(?:number|no\.?|nr\.?|"
                       rf"fuse|f) ?(?P<n>{_NUMBER})\)?\W*$", 2)
_WORK: Final = (
    r"(?:fitted|fitting|went in|went on|gone in|put (?:in|on)|swap(?:ped)?|chang(?:e|ed|ing)|installed|installing|"
    r"replac(?:ed|"
    r"ement|ing)|repair(?:ed|s)?|service|serviced|weld\w*|painted|paint job|respray|conversion|renewed|rebuil\w+|"
    r"refitted|rewir\w+|"
    r"towbar|tow bar|radio|work(?:ed)?|done|off|in)"
)
_ROWS: Final = tuple((hints, Pattern(said, 2), plain) for hints, said, plain in (
    (("having to", "have to", "got to", "replac", "chang"), r"\b(?:i |we |you )?(?:keep(?:s|ing)?|always) (?:on "
     r")?(?:having to |have to )?"
     r"(?:repl\w+|chang\w+|renew\w*|fit(?:ting)?|put(?:ting)?(?: in)?)(?: (?:a|the|another))?(?: new)? (?P<f>(?:\w+ "
     r")?fuse(?: \d+)?|F\d+)"
     r"\b", r"\g<f> keeps blowing"),
    ((" again", " over", " repeated"), r"\b(?:again and again|time and (?:time )?again|over and over(?: again)?|"
     r"repeatedly|time after "
     r"time)\b", ""),
    (("hold", "stay", "fine", "ok"), r"(?P<b>\b(?:fuse|F\d+)\b.*\b(?:blow|pop|go|melt|fail)(?:s|es|ing)?\b.*?),? "
     r"(?:but |and )?(?:it )?(?:holds?|"
     r"stays? in|is fine|is ok|ok|fine|survives)(?: fine| ok)? (?:otherwise|the rest of the time|at other times|"
     r"apart from that)\W*$",
     r"\g<b>"),
    (("until", "till"), r"\b(?P<f>(?:the |my |a )?(?:\w+ )?fuse(?: \d+)?|F\d+) (?:holds?|is fine|is ok|stays in|"
     r"survives)(?: fine| ok)? (?:right )?(?:up )?(?:un)?"
     r"till? (?P<w>[^,]+?),? (?:and |but )?then (?:it )?(?:blows?|goes|pops?)(?: again)?\W*$", r"\g<f> blows when "
      r"\g<w>"),
    (("till then", "until then", "til then"), r",? (?:but |and )?(?:it's |it )?(?:ok|fine|holds|good|all right) "
     r"(?:un)?till? then\W*$", ""),
    (("not without",), r",? (?:but |and )?not without(?: it| the trailer| the caravan)?\W*$", ""),
    (("without",), r"^(?:i |you |we )?(?:can't|cannot|can not) (?P<w>brake|reverse|indicate(?: left| right)?) "
     r"without (?:blowing|losing|popping) (?P<f>(?:the |a )?(?:\w+ )?fuse|F\d+)"
     r"\W*$", r"\g<f> blows when I \g<w>"),
    (("it ",), r"(?P<a>^|, | )it (?:keeps? )?(?:blow(?:s|ing)|pop(?:s|ping)|melt(?:s|ing)) (?P<f>F\d+|(?:the |a "
     r")?(?:[\w-]+ ){0,2}fuse(?: \d+)?)(?! in)", r"\g<a>\g<f> blows"),
    (("bang ",), r"\bbang goes (?P<f>(?:the |my |a )?(?:\w+ )?fuse|F\d+)", r"\g<f> blows"),
    (("not every", "not each", "not always"), r"\b(?P<f>fuse(?: \d+)?|F\d+) (?:keeps? )?(?:blow|pop|go)(?:s|es|"
     r"ing)?\b(?P<r>[^,]*),? (?:but )?not "
     r"(?:every ?time|each time|always)(?:,? (?:but|just|only) (?:often|mostly|most times|usually|sometimes|a "
     r"lot))?\W*$",
     r"\g<f> sometimes blows\g<r>"),
    # Since what.
    (("after ",), r"\bafter (?:the )?(?P<w>(?:fitting|fitment|changing|change|installing|swapping|welding)) (?:of "
     r")?(?:the |a |an )?(?P<x>[^,]+)",
     r"since \g<w> the \g<x>"),
    (("after ",), rf"\b(?:ever )?after (?=(?:the|a|an|my|our|they|he|we|i|she|his|new)\b[^,]*\b{_WORK}\b\W*(?:$|,))",
     "since "),
    ((" and now", " and then", "and since", " so now"), r"^(?P<d>(?:(?:i|we|he|they|she|the garage|someone) "
     r")?(?:have |had |has |just |'ve )?(?:put|"
     r"fitted|fit|changed|swapped|installed|replaced|renewed|welded|converted|got) [^,]+?),? (?:and|so) (?:now|"
     r"since then|ever since) "
     r"(?P<r>.+)$", r"\g<r> since \g<d>"),
    (("new bulb", "new globe", "new lamp", "new one"), r",? (?:even )?(?:with )?(?:a )?new (?:bulb|globe|lamp|"
     r"one)s? (?:makes?|made|makes) no "
     r"diff\w*", ", changed the bulb, no difference"),
    (("fuse", "bulb"), r", (?P<w>fuses?|bulbs?) (?:all |both )?(?:checked|tested|looked at)(?: (?:ok|good|"
     r"fine))?(?=\W*$|,)", r", checked the "
     r"\g<w>"),
))


def fuses_plainly(text: str) -> str:
    """The sentence with its fuse by number, and since when it is so, in the words that are read."""
    small = text.lower()
    if "fuse" in small:
        for pattern in _CALLED:
            text = pattern.sub(_fuse, text)
        if found := _LAST.match(text):
            text = f"fuse {_digit(found['n'])} {found['b']}"
    return put_plainly(text, _ROWS)


def _fuse(found: re.Match[str]) -> str:
    return f"fuse {_digit(found['n'])}"


def _digit(said: str) -> str:
    return _NUMBERS.get(said.lower(), said)
