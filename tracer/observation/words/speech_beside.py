"""Circumstances that move no control: the weather, where it was, how often, how soon."""

from __future__ import annotations

from typing import Final

from tracer.observation.words.patterns import AT_TIMES

# As in `circumstance_table.py`, of which they are the last.
BESIDE: Final[tuple[tuple[str, str], ...]] = (
    ("weather", r"(?:but |and |only )*(?:when|whenever|if|once|every time|each time|any time|as soon as) "
                r"(?:it's (?:been )?|its (?:been )?|it is |it has been |the (?:car|weather|engine|road) "
                r"(?:is |gets )|it |they're |they are )?(?:gets? )?"
                r"(?:wet|hot|cold|damp|rains?|raining|warm|freezing|warmed up)"),
    ("place", r"(?:out |back )?(?:on|in) (?:the )?(?:fields?|yard|motorway|farm|drive|garage|road)(?= |$)|"
              r"(?:under|behind|below) (?:the )?(?:dash|dashboard|bonnet|hood|seat|steering wheel)(?= |$)"),
    ("place", r"(?:(?<=\A)|(?<=, ))(?:(?:i think|i reckon|i suspect|maybe|probably) )?(?:the )?(?:\w+ ){0,2}"
              r"(?:wiring|wires?|loom|earth|connector|plug|harness) (?:\w+ ){0,4}(?:i think|i reckon|i suspect"
              r"|maybe|probably|"
              r"i would say|i guess)(?= ,)"),
    ("spot", r"(?:on|in|off) (?:the )?(?:(?:cab|front|rear|back) )?(?:cab roof|roof|head ?board|tail ?board|"
             r"draw ?bar|bulkhead|grille|roll ?bar|chassis rail|bumper)(?= |$)(?! (?:light|lamp)s?\b)"),
    ("place", r"(?:,? ?\b(?:and|but) )(?:then )?(?:they |it )?"
              r"(?:does not|do not|won't|never) comes? back(?: on)?(?= *(?:,|\||$))"),
    ("weather", r"(?:only )?on (?:a )?(?:wet|damp|cold|hot|frosty|foggy|rainy) "
                r"(?:days?|mornings?|nights?|evenings?)\b"),
    ("weather", r"(?:only )?after (?:the |heavy |some )*rain\b"),
    ("weather", r"(?:only )?in (?:the )?(?:wet|rain|cold|damp|heat)(?: weather)?"),
    ("sometimes", rf"(?:only )?(?:{AT_TIMES}|every now and (?:then|again)|comes? and go(?:es)?|coming and going|"
                  r"off and on|on and off|every (?:few|couple of|other|two|three) (?:days?|weeks?|months?|miles?|"
                  r"hours?)|every (?:day|week|month|night|morning|trip|journey)|not always|most of the time not)"),
    # What it should do when it is switched on tells no more than that it was.
    ("own", r"(?:when|whenever|as soon as|once|if) (?:i |you |we |he |she )?(?:switch|turn|put)(?:ing)? "
            r"(?:(?:it|them|that) on|on (?:it|them|that))(?= |$)"),
    ("at once", r"(?:at once|straight ?away|right away|immediately|instantly)"),
    ("after a while", r"(?:only )?after (?:a|some|a few|several|ten|five|two) (?:while|time|minutes?|seconds?|"
                      r"miles?|bit)"),
    ("always", r"(?:every|each) (?:single )?time(?! (?:i|you|we|they|he|she|it|someone|the driver)\b)"),
    ("always", r"(?:all (?:of )?the (?:time|while)|all day(?: long)?|the whole time|permanently|constantly|24/7)"),
)
