"""A slip of the typing finger put right: one letter wrong, missing, too many, or two exchanged."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import Final

from tracer.observation.words.patterns import Pattern
from tracer.observation.words.speech_lexicon import Lexicon
from tracer.observation.words.words import word_set

MOST_SLIPS: Final = 2  # in one sentence; with more it is anybody's guess
_SHORTEST: Final = 5  # letters: of shorter words too many are alike ("left", "lift")
_EXCHANGED: Final = 4  # letters: two of them changed over ("wrok") make no other word of so few
_FIRST_LETTER: Final = 6  # letters of a word whose first is wrong: "rains" is not "mains"
_LONG: Final = 7  # letters: two of them changed over make no other word ("niether"), also of those that deny
_NEVER: Final = frozenset({
    "never", "won't", "doesn't", "don't", "didn't", "isn't", "aren't", "wasn't", "can't", "without", "neither",
    "nothing",
})  # a guess here would turn the meaning round


# Little words with letters changed over.
_LITTLE: Final = {
    "teh": "the", "hte": "the", "adn": "and", "wen": "when", "wehn": "when", "im": "I'm", "ive": "I've",
     "youre": "you're",
    "theyre": "they're", "thier": "their", "wiht": "with", "wth": "with", "wont'": "won't", "dont'": "don't",
    "doesnt'": "doesn't", "evrytime": "every time", "everytime": "every time", "al": "all", "fo": "of", "ot": "to",
    "si": "is", "thats": "that's", "cant": "can't", "wich": "which", "agian": "again", "alot": "a lot",
     "jsut": "just",
    "dipp": "dip", "pres": "press", "dimm": "dim", "beem": "beam", "sme": "same", "wel": "well", "stil": "still",
     "ligt": "light",
    "peddle": "pedal", "aswell": "as well", "realy": "really", "tapp": "tap", "pedle": "pedal", "thne": "then",
     "pedel": "pedal",
     "okey": "okay",
}
_DENIALS: Final = {f"{verb}nt": f"{verb}n't" for verb in (
    "does", "do", "did", "is", "are", "was", "were", "has", "have", "had", "would", "could", "should")}
# With which two words run into one begin: "leftrear", "braketail".
_FIRST: Final = word_set("left right rear front both brake stop tail side number reverse reversing")
# Words of so few letters that more are often mistyped than any other here, and what those are no slip of.
_COMMON: Final = word_set(
    "back rear left right dead dark very lamp light work works tail stop side beam fuse horn goes does both only "
    "front brake when with other full main high time over pack come keep tail good fine weak poor dark dull bulb "
    "flash every tell "
    "tale")
# Ordinary words of complaints, which mean something only with others: they are mistyped as well.
_ORDINARY: Final = word_set(
    "times every thump thumped thumping knock knocked knocking wiggle wiggled wiggling bangs banged banging smack "
    "slapped tapped "
    "tapping jiggle jiggled lenses straight away comes coming packed packs keeps keeping going since fitted fitting "
    "towbar radio "
    "trailer caravan socket press pressed presses pressing pedal touch touched touching select selected selecting "
    "engage engaged "
    "engaging reversing indicate indicates indicating signal signalling driver passenger faintly dimly weakly "
    "sometimes "
    "intermittent bumps bumpy rough roads potholes engine running stopped ignition completely totally nothing "
    "everything neither "
    "whole cluster corner switch switched button hooter opened opens closed courtesy inside works worked working "
    "stays stuck "
    "permanently constantly always never anything either about through where there their another without unless "
    "until instead "
    "instantly immediately moment second minute blowing blows popping repeatedly brightness properly tickover "
    "holder headlight "
    "headlights headlamp sidelights sidelight taillight quickly rapidly speed double clicking ticking solid steady "
    "constant "
    "while whenever release released lever stalk turned turning brakes braking number plate lights indicator "
    "indicators "
    "brakelight brakelights taillight taillights stoplight stoplights foglight foglights numberplate reversinglight "
    "doesn't won't isn't aren't")
_REAL: Final = word_set(
    "week weeks white noting breaks let lap lam amp dad til till top use ear bear font wit whit wet wen hen he oly "
    "ony lit "
    "sit wok won fus bam bad bed bid boy bot god got doe dos die did sad see sea ten tan tap tin hot hut hit "
    "wall well worm word ward cork tall toil trail sail tale slide site slop shop step bean seam fuss ruse focus "
    "lump damp ramp "
    # Ordinary words of more letters that are one slip from a word of lamps and looks.
    "gives give giver giving putting fitting setting getting letting sitting meeting keeping saving saying paying "
    "laying "
    "placing pulling rushing packing marking nested rested sorted sorting block blocks bridge bring brings brought "
    "brown close "
    "closer closes clever could deaf deal dear drive driven drives event even feels fills finder finer form gather "
    "grows growing "
    "handle handles handy hears heats heard heaps hello holes horse humps later level lever lift lines lives looms "
    "loops lose "
    "loses maps makers master mounted nearby nose order orders pace pays picked plans powers quite race races rarely "
    "read real "
    "road roads roots sees seeks shall shops small sold sort sorts sparks spots stale steps stick sticks sticky "
    "strange stray "
    "string strip strike stroke supposed suspects table tables takes taken thick tied tree track tracks trick tricks "
    "trunk trusted "
    "vary wider wish winding words world worker less lies feel blind bill bears beat belts below bounds brace chance "
    "contract "
    "cross crosses flow flush glove gloves haven jumper leans meets noise noisy pours props rating rely remain shone "
    "slots spill "
    "suck theirs tool wins until unless happen")
_WORDS: Final = Pattern(r"([A-Za-z']+)")


def close(typed: str, known: str) -> bool:
    """Whether one slip makes `typed` of `known`."""
    if abs(len(typed) - len(known)) > 1 or typed == known:
        return False
    at = next((i for i, (a, b) in enumerate(zip(typed, known, strict=False)) if a != b), min(len(typed), len(known)))
    rest, own = typed[at:], known[at:]
    if rest[1:] == own or rest == own[1:] or rest[1:] == own[1:]:
        return True
    return len(rest) > 1 and len(own) > 1 and rest[0] == own[1] and rest[1] == own[0] and rest[2:] == own[2:]


def _likeliest(word: str, near: list[str]) -> list[str]:
    """Of several that are near those with letters exchanged or one struck twice, else those of which one was left
    out: the fingers do that more often than they strike another."""
    twice = {word[:n] + word[n + 1 :] for n in range(1, len(word)) if word[n] == word[n - 1]}
    sure = [k for k in near if sorted(k) == sorted(word) or k in twice]
    return sure or [k for k in near if len(k) > len(word)] or near


def put_right(
    words: Sequence[str], known: Collection[str], means: Mapping[str, object]
) -> tuple[list[str], list[tuple[str, str]]]:
    """The words with slips put right, and which were: (typed, taken as).

    Args:
        known: Every word that has a meaning here: it is never taken for another.
        means: Word → its meaning; of several words that are near, those that mean the same are one.
    """
    out, slips, known = list(words), list[tuple[str, str]](), {*known} | _ORDINARY
    for i, word in enumerate(words):
        if word in known or word in _REAL or not word.isalpha() or len(slips) == MOST_SLIPS:
            continue
        near = sorted(k for k in known if k.isalpha() and close(word, k) and (
            max(len(k), len(word)) >= _SHORTEST or (len(word) == _EXCHANGED and sorted(k) == sorted(word))))
        if not near and len(word) > 2 and word not in _REAL:
            near = sorted(k for k in _COMMON if k[0] == word[0] and close(word, k))
        near = _likeliest(word, near)
        same = [k for k in near if sorted(k) == sorted(word)] or [k for k in near if k[:1] == word[:1]]
        same = same or [k for k in near if len(word) >= _FIRST_LETTER]
        same = [k for k in same if k in means] or same
        exchanged = bool(same) and sorted(word) == sorted(same[0])
        sure = not _NEVER & {*same} or (len(word) >= _FIRST_LETTER and word not in _REAL and near == same and (
            len(word) >= _LONG if exchanged else len(word) < len(same[0])))
        if len({id(means.get(k, k)) if k in means else k for k in same}) == 1 and sure:
            out[i] = same[0]
            slips.append((word, same[0]))
    return out, slips


def spelled_right(text: str, lexicon: Lexicon) -> tuple[str, list[tuple[str, str]]]:
    """A sentence with its slips put right, and which were."""
    parts = _WORDS.split(text)  # what stands between them at the even places
    typed, parts[1::2] = parts[1::2], [_little(w, lexicon.known) for w in parts[1::2]]
    little = [(t.lower(), w) for t, w in zip(typed, parts[1::2], strict=True) if t != w]
    words = [w.lower() for w in parts[1::2]]
    put, slips = put_right(words, lexicon.known, lexicon.means)
    changed = {typed for typed, _ in slips}
    parts[1::2] = [p if w in changed else typed for typed, w, p in zip(parts[1::2], words, put, strict=True)]
    return "".join(parts), [*little, *slips]


def _little(typed: str, known: Collection[str]) -> str:
    """A word with what is no guess put right: "teh", "dosn't", "doens't", and two words run into one."""
    word = typed.lower()
    if word in _LITTLE:
        return _LITTLE[word]
    bare = "".join(filter(str.isalnum, word))
    shortest = _SHORTEST if bare == word else _EXCHANGED
    if word in known or len(bare) < shortest or word in _DENIALS.values():
        return typed
    alike = [k for k in _DENIALS if k[0] == bare[0] and close(bare, k)]
    near = [bare] if bare in _DENIALS else _likeliest(bare, alike)
    if len(near) == 1 and bare not in known and bare not in _REAL:
        return _DENIALS[near[0]]
    halves = [(bare[:k], bare[k:]) for k in range(4, len(bare) - 3) if bare[:k] in _FIRST and bare[k:] in known]
    return " ".join(halves[0]) if len(halves) == 1 and word == bare else typed
