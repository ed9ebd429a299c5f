"""What is asked when a job is opened: how the vehicle runs, what was done to it last, and since when it is so."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from msgspec import Struct
from msgspec.structs import asdict

from tracer.errors import SymptomError, did_you_mean

# What may have been worked on or fitted last, or what the vehicle went through, in the words in which it is asked.
FOUND_GOOD: Final = "lamp found good"  # another was put in and changed nothing, or it was tested
WORK: Final = (
    "lamp changed", FOUND_GOOD, "trailer socket", "radio", "body repair", "loom opened", "washed", "stood for years",
)


class Story(Struct, frozen=True):
    """The vehicle's story; whatever was not asked or not known is left empty.

    Attributes:
        runs: It cranks and runs as usual.
        driven_here: It came here under its own power.
        work: What was done last, of WORK.
        where: At which part, connector or place of the harness; any words.
        since: Since when, in any words.
        always: The fault always shows (True) or only sometimes (False).
    """

    runs: bool | None = None
    driven_here: bool | None = None
    work: tuple[str, ...] = ()
    where: str = ""
    since: str = ""
    always: bool | None = None

    def __post_init__(self) -> None:
        for w in self.work:
            if w not in WORK:
                raise SymptomError(f"“{w}” is no work that a story knows", did_you_mean(w, WORK) or ", ".join(WORK))

    @property
    def told(self) -> bool:
        """Whether anything was told."""
        return self != Story()

    def and_then(self, later: Story) -> Story:
        """This story and what was told after it; of what can be only once the later counts."""
        return Story(
            self.runs if later.runs is None else later.runs,
            self.driven_here if later.driven_here is None else later.driven_here,
            tuple(dict.fromkeys((*self.work, *later.work))), later.where or self.where, later.since or self.since,
            self.always if later.always is None else later.always,
        )

    @property
    def alive(self) -> bool:
        """Whether the battery and its cables serve the starter."""
        return self.runs is True or self.driven_here is True

    def says(self) -> str:
        """All that was told, in words."""
        said = []
        if self.runs is not None:
            said.append("cranks and runs as usual" if self.runs else "does not crank or run well")
        if self.driven_here is not None:
            said.append("was driven here" if self.driven_here else "was brought here")
        if self.work:
            said.append("before it: " + " and ".join(self.work) + (f" at {self.where}" if self.where else ""))
        said += [f"since {self.since}"] if self.since else []
        if self.always is not None:
            said.append("always" if self.always else "sometimes")
        return "; ".join(said)

    def as_data(self) -> dict[str, Any]:
        """As plain data for a job file; what was not told is left out."""
        return {k: list(v) if isinstance(v, tuple) else v for k, v in asdict(self).items() if v not in (None, "", ())}

    @classmethod
    def from_data(cls, data: Mapping[str, Any]) -> Story:
        """The story of a job file.

        Raises:
            SymptomError: Of another form.
        """
        wrong = SymptomError("a story is not told as one", "{runs: true, work: [lamp changed], where: left rear}")
        for key, kind in (("runs", bool), ("driven_here", bool), ("always", bool), ("where", str), ("since", str)):
            if key in data and not isinstance(data[key], kind):
                raise wrong
        work = data.get("work", ())
        if not isinstance(work, (list, tuple)) or not all(isinstance(w, str) for w in work):
            raise wrong
        known = {k: data[k] for k in ("runs", "driven_here", "where", "since", "always") if k in data}
        return cls(work=tuple(work), **known)


NO_STORY: Final = Story()
