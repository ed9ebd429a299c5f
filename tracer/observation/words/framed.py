"""A complaint without the greeting before it and the request after it: "hi, why is my left stop dim? any ideas?"."""

from __future__ import annotations

from typing import Final

from tracer.observation.words.patterns import Pattern

_GREETING: Final = Pattern(
    r"^\s*(?:hi(?! beam)|hello|hey|(?:good )?(?:morning|afternoon|evening))(?: there| all| guys)?[,.!:-]* +"
    r"(?=\S+ \S)", 2)
_NOTICED: Final = Pattern(
    r"^\s*(?:i(?:'ve| have)? )?(?:just )?(?:noticed|spotted|found)(?: that)?[,:]? +(?=\S+ \S)"
    r"|^\s*(?:mot|inspection)[ -](?:fail(?:ed|ure|s)?|advisory)(?: on| for)?[,:;-]* +(?=\S+ \S)", 2)
_WHY_NOT: Final = Pattern(
    r"^\s*why (?P<not>won't|doesn't|don't|isn't|aren't) (?P<who>(?!it\b|they\b).+) "
    r"(?P<does>work(?:ing)?|come on|light(?: up)?|flash(?:ing)?)\b", 2)
_WHY: Final = Pattern(r"^\s*why (?:is|are|does|do|has|have) (?!it\b|they\b|that\b|this\b)(?=\S+ \S)", 2)
_ASKED: Final = Pattern(
    r"[,.;:?!-]* +(?:any (?:ideas?|clues?|suggestions?|thoughts?|advice)|(?:please|pls) (?:check|look|advise|help|"
    r"sort|fix)(?: it| this)?|can you (?:please )?(?:check|look|have a look|help)(?: at)?(?: it| this)?|"
    r"what(?:'s| is) (?:wrong|up|the matter)|thanks|many thanks|thank you|cheers|help please)[?!. ]*$", 2)


def unframed(text: str) -> str:
    """What is said of the lamps; the text itself where nothing stands around it."""
    said = _NOTICED.sub("", _GREETING.sub("", text))
    said = _WHY.sub("", _WHY_NOT.sub(r"\g<who> \g<not> \g<does>", said))
    before = ""
    while before != said:
        before, said = said, _ASKED.sub("", said)
    return (said.rstrip("? ") if said != text else said) or text
