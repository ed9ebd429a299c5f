"""Whoever adds a kind of test or something done on purpose writes one row; here is said what the row lacks.

Each needs an example below, on the trailer of the library: its forms as people type them, and a reading.
"""

from __future__ import annotations

import ast
import math
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import get_args

import numpy as np
import pytest
from msgspec.structs import replace

from tests.library import MODELS
from tracer.circuit.model import NO_CHANGE, Change
from tracer.harness.devices import FilamentLaw, LedLaw
from tracer.harness.file.text import read_harness
from tracer.harness.lamp_laws import lamp_laws
from tracer.harness.model import Harness
from tracer.inference.diagnose import Investigator
from tracer.inference.explanation import say_value
from tracer.inference.likelihood import undescribed_loglik
from tracer.observation.actions import ACTIONS, Action, Intervention
from tracer.observation.evidence import Reading, Symptom, Test
from tracer.observation.forward_model import Predictor
from tracer.observation.hazards import HAZARDS, Hazard
from tracer.observation.instruments import TEST_LAMP_W
from tracer.observation.test_kinds import INSTRUMENTS, KINDS, TestKind, kind_named
from tracer.observation.test_row import AT_LAMPS, Kind
from tracer.observation.words.probes import DONE_HINT, TESTS_HINT, parse_test
from tracer.observation.words.readings import parse_value, test_as_data, test_from_data, test_key
from tracer.observation.words.symptoms import parse_symptom
from tracer.planning.costs import Standing, minutes_of
from tracer.present.job_words import test_words as words_of
from tracer.safety.advice import cautions_of, of_test

PACKAGE = Path(__file__).parents[2] / "tracer"
TRAILER = (MODELS / "trailer_7pin.yaml").read_text(encoding="utf-8")
# The trailer has no bullets: a sleeve is added to a lamp that nothing else here is asked of.
SLEEVE = """overlay: an added lamp on a sleeve
parts:
  reversing lamp: {kind: lamp, lamp: P21W}
connectors:
  B9: bullets
wires:
  - X1.1 > B9 > reversing lamp.feed
  - reversing lamp.earth > S4
"""
HARNESS: Harness = read_harness(TRAILER, "trailer", [(SLEEVE, "sleeve")])
PREDICTOR = Predictor(HARNESS)
# The same trailer behind other vehicles.
AT_VOLTS = {v: Predictor(read_harness(TRAILER.replace("12 V negative", f"{v} V negative"))) for v in (6, 12, 24)}
REST = HARNESS.at_rest()
NOW = "when brake switch pressed"
FEED, EARTH = "left lamp unit.stop", "left lamp unit.earth"

# Of each kind, the forms in which it is typed, and what a reading of it may be.
TESTS: dict[TestKind, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "volts": ((f"volts at {FEED} {NOW}", f"voltage {FEED} {NOW}", f"measure volt on {FEED} {NOW}"),
              ("11.9 V", "0 V")),
    "drop": ((f"volt drop {FEED} to {EARTH} {NOW}", f"voltage-drop from {FEED} to {EARTH} {NOW}",
              f"volts {FEED} against {EARTH} {NOW}"), ("0.2 V",)),
    "ohms": ((f"ohms {FEED} to S3", f"resistance between {FEED} and S3", f"continuity {FEED} to S3"),
             ("0.3 ohm", "open", "beeps")),
    "test lamp": ((f"test lamp at {FEED} {NOW}", f"test-light on {FEED} {NOW}",
                   f"test lamp from {FEED} to {EARTH} {NOW}"), ("dim", "dark")),
    "LED tester": ((f"LED tester at {FEED} {NOW}", f"led test lamp {FEED} {NOW}"), ("lit", "dark")),
    "known-good lamp": ((f"known-good lamp at left lamp unit stop {NOW}", f"known good bulb {FEED} to {EARTH} {NOW}"),
                        ("normal", "dark")),
    "lamp for fuse": ((f"test lamp in place of F1 {NOW}", f"test lamp in the place of the fuse F1 {NOW}",
                       f"test light instead of fuse F1 {NOW}"), ("normal", "dark")),
    "current": ((f"amps {FEED} {NOW}", f"clamp ammeter, current {FEED} to S3 {NOW}", f"clamp {FEED} {NOW}"),
                ("1.8 A", "0 A")),
    "look": ((f"look left lamp unit stop {NOW}", f"look at left lamp unit stop {NOW}"), ("dim", "dark")),
    "inspect": ((f"inspect S3 to {FEED}", "inspect X1", "look over S3", "inspect holder left lamp unit stop"),
                ("found", "nothing")),
    "wiggle": ((f"wiggle X1 and watch left lamp unit stop {NOW}", f"tap S3 and watch left lamp unit stop {NOW}"),
               ("changes", "does not")),
    "crimp": ((f"crimp {FEED} to S3 {NOW}", f"crimp drop at {FEED} {NOW}", f"crimp-drop S3 to {FEED} {NOW}"),
              ("volts lost", "none lost", "0.4 V", "20 mV")),
}
# Of each action, the forms in which it is typed, and what it is.
DONE: dict[Action, tuple[tuple[str, ...], Intervention]] = {
    "unplug": (("X1 unplugged", "X1 out", "unplug X1"), Intervention("unplug", "X1")),
    "pull bullet": (("bullet B9.2 pulled", "B9.2 out", "pull bullet B9.2"), Intervention("pull bullet", "B9.2")),
    "pull fuse": (("F1 pulled", "fuse F1 removed", "pull F1"), Intervention("pull fuse", "F1")),
    "new fuse": (("new fuse F1", "a new fuse in F1"), Intervention("new fuse", "F1")),
    "take out lamp": (("lamp plate lamp out", "take out plate lamp"), Intervention("take out lamp", "plate lamp")),
    "good lamp": (("known-good lamp in plate lamp", "a known good bulb put into the holder of the plate lamp"),
                  Intervention("good lamp", "plate lamp")),
    "earth lead": ((f"earth lead at {EARTH}", f"temporary earth wire on {EARTH} to clean body"),
                   Intervention("earth lead", EARTH)),
    "feed lead": ((f"feed lead from F1.out to {FEED}", f"fused feed at {FEED} from F1.out",
                   f"{FEED} fed from F1.out"),
                  Intervention("feed lead", FEED, "F1.out")),
    "swap lamps": (("lamps left lamp unit indicator and right lamp unit indicator swapped",
                    "swap left lamp unit indicator and right lamp unit indicator"),
                   Intervention("swap lamps", "left lamp unit indicator", "right lamp unit indicator")),
    "part splice": ((f"splice S3 parted at the wire to {FEED}", f"S3 parted to {FEED}"),
                    Intervention("part splice", "S3", FEED)),
    "take wires off": (("wires off light switch", "take the wires off the light switch"),
                       Intervention("take wires off", "light switch")),
    "disconnect battery": (("battery disconnected", "disconnect the battery"),
                           Intervention("disconnect battery", "battery")),
}
TYPED = [(kind, text) for kind, (forms, _) in TESTS.items() for text in forms]
TYPED_DONE = [(action, text) for action, (forms, _) in DONE.items() for text in forms]


def example(kind: TestKind) -> Test:
    return parse_test(TESTS[kind][0][0], HARNESS)


def test_every_kind_has_its_row_and_its_example() -> None:
    assert set(KINDS) == set(get_args(TestKind)), "the names of TestKind, and the rows of KINDS"
    assert set(KINDS) == set(TESTS), "a row of TESTS above: how it is typed, and a reading"
    assert set(ACTIONS) == set(get_args(Action)) == set(DONE)


@pytest.mark.parametrize("kind", KINDS)
def test_short_names_tell_kinds_apart_and_are_no_trouble_codes(kind: TestKind) -> None:
    """Trouble codes begin with P, B, C or U (ISO 15031-6); T numbers the test points of a drawing."""
    letter = KINDS[kind].letter
    assert len(letter) == 1 and letter.isupper() and letter not in "PBCUT", f"{kind}: `letter` {letter}"
    same = [k for k, row in KINDS.items() if row.letter == letter]
    assert same == [kind], f"{kind}: its `letter` {letter} is that of {same}"


@pytest.mark.parametrize(("kind", "text"), TYPED)
def test_a_typed_test_is_read_kept_and_said_again(kind: TestKind, text: str) -> None:
    test = parse_test(text, HARNESS)
    assert test.kind == kind
    assert test_from_data(test_as_data(test), HARNESS) == test
    assert parse_test(words_of(test, HARNESS), HARNESS) == test
    assert test_key(test).startswith(f"{KINDS[kind].letter}-")


@pytest.mark.parametrize("kind", KINDS)
def test_what_is_said_of_a_test_is_read_as_that_test(kind: TestKind) -> None:
    """What is printed to be done names the kind and the place: said as of another kind it is read as that one."""
    test = example(kind)
    said = test.says(HARNESS)
    assert parse_test(said, HARNESS) == test, f"{kind}: `says` “{said}” is read as another test"


@pytest.mark.parametrize("kind", KINDS)
def test_no_two_kinds_are_called_the_same_at_one_spot(kind: TestKind) -> None:
    """In a list of what was done."""
    spot = example(kind).spot(HARNESS)
    same = [k for k, row in KINDS.items() if row.short(spot) == KINDS[kind].short(spot)]
    assert same == [kind], f"{kind}: `short` is that of {same}: “{KINDS[kind].short(spot)}”"


def places_unsaid(row: Kind) -> set[str]:
    """What a test needs to be told of that its steps leave out: both probes, or the lamp that is looked at."""
    wanted = {"{a}", "{b}"} if row.one_point or row.two_points else {"{lamp}"} if row.of_lamps else {"{says}"}
    steps = " ".join(row.steps)
    return {place for place in wanted if place not in steps and "{says}" not in steps}


@pytest.mark.parametrize("kind", KINDS)
def test_the_steps_say_where_everything_goes(kind: TestKind) -> None:
    unsaid = places_unsaid(KINDS[kind])
    assert not unsaid, f"{kind}: `steps` leave out {unsaid}"


@pytest.mark.parametrize("kind", KINDS)
def test_every_cell_of_a_kind_is_filled_in(kind: TestKind) -> None:
    row, test = KINDS[kind], example(kind)
    said = test.says(HARNESS)
    assert said and "  " not in said, f"{kind}: `says`"
    assert row.short(test.spot(HARNESS)), f"{kind}: `short`"
    steps = [s.format_map({"a": "A", "b": "B", "lamp": "L", "says": "S", "system_v": "12"}) for s in row.steps]
    assert steps and all(steps), f"{kind}: `steps`"
    assert row.question.endswith("?"), f"{kind}: `asks`"
    assert row.instrument in INSTRUMENTS, f"{kind}: `instrument`"
    assert 0 < row.minutes < 5, f"{kind}: `minutes`"
    assert minutes_of(test, Standing(HARNESS.state({})), HARNESS) > row.minutes, f"{kind}: `minutes`"
    assert {*row.hazards} <= {*HAZARDS} and cautions_of(of_test(test, HARNESS)), f"{kind}: `hazards`"
    assert row.by_hand == (row.findings is not None) == bool(row.chance), f"{kind}: `findings` and `chance`"
    assert (row.quantity is None) == bool(row.choices), f"{kind}: `quantity`, or `choices` to choose from"
    assert bool(row.needs) == (row.points == "two points"), f"{kind}: what is told where a point is missing (`needs`)"
    assert row.asks or row.unit, f"{kind}: the guide does not know what to ask (`asks`)"
    assert (row.example == "") or f"“{row.example}”" in TESTS_HINT, f"{kind}: `example`"
    assert bool(row.called) == (row.shows_light or row.of_lamps), f"{kind}: what a light is said to be (`called`)"
    assert not (row.hands_free and row.probes), f"{kind}: `hands_free`, and both hands hold leads"


@pytest.mark.parametrize("kind", KINDS)
def test_what_a_kind_changes_shows_and_weighs(kind: TestKind) -> None:
    """Its change can be made in the circuit; its readings are understood, worked out and never impossible."""
    test, row = example(kind), KINDS[kind]
    change = test.change(PREDICTOR.circuit)
    assert isinstance(change, Change), f"{kind}: `change` is none"
    lit = row.model == "light across"
    assert bool(change.lamps) == lit, (
        f"{kind}: `change` connects whose light is read" if lit else
        f"{kind}: `change` connects a lamp whose light nobody reads: a load is an AddedBranch")
    connects = change != NO_CHANGE or bool(test.done)
    assert (row.model in ("voltage", "resistance", "light across")) == connects, (
        f"{kind}: `change` connects {'something' if connects else 'nothing'}, and its `model` is “{row.model}”")
    if not row.of_lamps and not row.by_hand:
        value = PREDICTOR.observed(test, [NO_CHANGE])
        assert value.shape == (1,) and not math.isnan(float(value[0])), f"{kind}: `model` “{row.model}” shows nothing"
        assert say_value(kind, float(value[0])), f"{kind}: `quantity`"
    for text in (*TESTS[kind][1], *row.choices):
        reading = Reading(test, parse_value(text, kind, test.lamp))
        assert np.isfinite(undescribed_loglik(reading, PREDICTOR)), f"{kind}: “{text}” cannot be"
    assert parse_value("skipped", kind, test.lamp).told_nothing


@pytest.fixture(scope="module")
def investigator() -> Investigator:
    return Investigator(HARNESS)


@pytest.mark.parametrize("kind", KINDS)
def test_a_reading_of_every_kind_is_weighed_in_a_diagnosis(kind: TestKind, investigator: Investigator) -> None:
    told: Symptom = parse_symptom(f"left lamp unit stop dark {NOW}", HARNESS)
    reading = Reading(example(kind), parse_value(TESTS[kind][1][0], kind, example(kind).lamp))
    found = investigator.diagnose([told, reading])
    assert not np.isnan(found.loglik).any()
    assert sum(s.share for s in found.suspects) + found.undescribed == pytest.approx(1.0, abs=1e-6)


@pytest.mark.parametrize(("action", "text"), TYPED_DONE)
def test_a_typed_action_is_read_kept_and_said_again(action: Action, text: str) -> None:
    test = parse_test(f"look at right lamp unit tail {NOW} with {text}", HARNESS)
    assert test.done == (DONE[action][1],)
    assert test_from_data(test_as_data(test), HARNESS) == test
    assert parse_test(words_of(test, HARNESS), HARNESS) == test


@pytest.mark.parametrize("action", ACTIONS)
def test_every_cell_of_an_action_is_filled_in(action: Action) -> None:
    row, done = ACTIONS[action], DONE[action][1]
    assert done.says(HARNESS) and done.words() and f"“{row.example}”" in DONE_HINT
    assert done.change(PREDICTOR.circuit) != NO_CHANGE
    assert row.typed or row.taken_out
    nodes = row.nodes(HARNESS, done.target, done.other)
    assert nodes and all(HARNESS.place_of(n)[0] for n in nodes)
    assert row.minutes + sum(row.opens(done.target).values()) > 0
    assert {*row.hazards} <= {*HAZARDS}
    lamps = {f.lamp for f in HARNESS.lamps()}
    assert {*done.dark(HARNESS), *done.watched(HARNESS)} <= lamps
    assert row.lead == any(x.fuse_a for x in done.change(PREDICTOR.circuit).added)
    panel = PREDICTOR.panel(
        PREDICTOR.setup(REST, done.change(PREDICTOR.circuit)),
        PREDICTOR.table([NO_CHANGE], done.change(PREDICTOR.circuit)))
    assert panel.usable.all()


def compared(tree: ast.AST, names: set[str]) -> Iterator[tuple[int, str]]:
    """Where a name of a kind is compared, looked for in something, matched, or is a key of another table."""
    for x in ast.walk(tree):
        inside: list[ast.expr | ast.pattern | None] = []
        if isinstance(x, ast.Compare):
            inside = [x.left, *x.comparators]
        elif isinstance(x, ast.MatchValue):
            inside = [x.value]
        elif isinstance(x, ast.Dict):
            inside = [*x.keys]
        elif isinstance(x, ast.Call) and isinstance(x.func, ast.Attribute) and x.func.attr in (
            "get", "startswith", "endswith", "setdefault"
        ):
            inside = [*x.args[:1]]
        for part in inside:
            own = part.elts if isinstance(part, (ast.Tuple, ast.Set, ast.List)) else [part]
            for c in own:
                if isinstance(c, ast.Constant) and isinstance(c.value, str) and c.value in names:
                    yield c.lineno, c.value


# Where such a word is the name of another thing: a field of what is printed as data, a quantity with its unit.
OTHER_THINGS = {
    "units.py": {"current", "volts", "ohms"}, "harness/file/fields.py": {"current"},
    "harness/file/dump.py": {"current"}, "harness/part_kinds.py": {"current"},
    "checking/simulation.py": {"look", "volts"}, "present/job_data.py": {"volts"},
    "checking/sneak.py": {"look"}, "checking/truth_table.py": {"look"}, "commands/job_commands.py": {"look"},
    "page/replies.py": {"look"}, "circuit/kept_healthy.py": {"volts"}, "commands/practice_commands.py": {"look"},
    "patterns/questions.py": {"volts"}, "page/exercises.py": {"look"},
    "observation/words/fuse_parted.py": {"new fuse"},
}


# More than a tester with an LED takes (5 to 20 mA at 12 V), of which nobody hears that it spoilt an output
# (judgement).
SPOILS_A = 0.1


def draws_a(row: Kind) -> float:
    """What it lets through at most where it is connected, A, cold."""
    change, volts = row.change(PREDICTOR.circuit, FEED, EARTH), HARNESS.system_v
    lamps = [x.law for x in change.lamps]
    filaments = [volts / law.cold_ohm for law in lamps if isinstance(law, FilamentLaw)]
    leds = [volts / law.ohm for law in lamps if isinstance(law, LedLaw)]
    return max([0.0, *filaments, *leds, *(volts / branch.ohm for branch in change.added)])


def loads(row: Kind) -> bool:
    """Whether it reads a voltage and changes it: a meter of a megohm and more does not."""
    return row.of_supply and draws_a(row) > HARNESS.system_v / 1e6


def watts_at(row: Kind, volts: int) -> list[float]:
    """What its lamps and loads take at the volts of the vehicle; a lamp made for others takes what it may."""
    change = row.change(AT_VOLTS[volts].circuit, FEED, EARTH)
    lamps = [x.law.watts if x.law.v_normal == volts else math.nan for x in change.lamps]
    return [*lamps, *(volts**2 / branch.ohm for branch in change.added if branch.ohm < 1e6)]


def burns_w(row: Kind) -> float:
    lamps = row.change(PREDICTOR.circuit, FEED, EARTH).lamps
    return max((x.law.watts for x in lamps), default=0.0)


@pytest.mark.parametrize("kind", KINDS)
def test_a_bulb_that_a_test_connects_takes_what_bulbs_of_its_watts_take(kind: TestKind) -> None:
    """By `lamp_laws`: 21 W on the glass are 25 W at 13.5 V."""
    for lamp in example(kind).change(PREDICTOR.circuit).lamps:
        if isinstance(lamp.law, FilamentLaw):
            assert [lamp.law] == [*lamp_laws(f"{lamp.law.watts:g} W", HARNESS.system_v)], kind


def fuse_pulled(row: Kind) -> bool:
    return row.named == "fuse"


# A hazard of tests → the rows that must have it.
MUST_SAY: dict[Hazard, Callable[[Kind], bool]] = {
    "probe at live contacts": lambda row: row.at_end or (
        row.model in ("voltage", "light across") and not fuse_pulled(row)),
    "current through electronics": lambda row: draws_a(row) > SPOILS_A and not row.spares,
    "hot lamp": lambda row: burns_w(row) > TEST_LAMP_W,
    "plug or fuse pulled": fuse_pulled,
    "ohmmeter on a fed circuit": lambda row: row.model == "resistance",
    "clamp at a wire": lambda row: row.model == "wire current",
    "wires moved while live": lambda row: row.moves,
    "hands at what may move": lambda row: row.takes_thing and row.at_rest,
}


def unsaid_hazards(row: Kind) -> set[Hazard]:
    return {hazard for hazard, must in MUST_SAY.items() if must(row)} - {*row.hazards}


@pytest.mark.parametrize("kind", KINDS)
def test_what_may_hurt_in_a_test_follows_from_what_it_does(kind: TestKind) -> None:
    """A row says all of it, and nothing that could be dropped without being missed."""
    row = KINDS[kind]
    assert not unsaid_hazards(row), f"{kind}: its row does not say what may hurt (`hazards`): {unsaid_hazards(row)}"
    for one in row.hazards:
        assert one in MUST_SAY, f"{kind}: the hazard “{one}” wants a law of its own in MUST_SAY"
        unsaid = unsaid_hazards(replace(row, hazards=tuple(h for h in row.hazards if h != one)))
        assert unsaid == {one}, f"{kind}: nothing about it asks for its hazard “{one}”"


def test_a_row_says_why_its_current_spoils_nothing_only_where_it_might() -> None:
    assert [k for k, row in KINDS.items() if row.spares and draws_a(row) <= SPOILS_A] == []


@pytest.mark.parametrize("kind", KINDS)
def test_a_row_says_how_a_test_comes_to_be_proposed_or_why_it_is_not(kind: TestKind) -> None:
    row = KINDS[kind]
    assert bool(row.unproposed) == (row.proposed == "when asked for"), f"{kind}: why nobody is asked to make it"
    at_lamps = row.model in ("light across", "voltage")
    assert row.proposed not in AT_LAMPS or at_lamps, f"{kind}: nothing connected to a lamp's terminals"
    assert row.proposed != "feed to earth" or row.two_points, f"{kind}: has no second point"


def test_what_reads_a_voltage_leaves_it_or_says_that_it_loads_it() -> None:
    """A reading under load is not the voltage that stands there: nothing that asks what was measured takes it so."""
    for kind, row in KINDS.items():
        assert row.loads == loads(row), (
            f"{kind}: `loads`, and what it connects draws next to nothing" if row.loads else
            f"{kind}: its `change` draws {draws_a(row):.2g} A from the voltage that it reads: say `loads=True`")
    assert KINDS["volts"].plain_volts and KINDS["drop"].plain_volts and not KINDS["ohms"].plain_volts
    assert not replace(KINDS["volts"], loads=True).plain_volts


def test_every_kind_that_a_row_names_is_one() -> None:
    assert [kind_named(row.between) for row in KINDS.values() if row.between] == ["drop"]


def test_no_module_compares_the_names_of_kinds() -> None:
    """Whoever must know one kind from another asks its row."""
    names: set[str] = {*KINDS, *ACTIONS}
    found = []
    for path in sorted(PACKAGE.rglob("*.py")):
        name = str(path.relative_to(PACKAGE))
        if name in ("observation/test_kinds.py", "observation/actions.py"):
            continue
        others = OTHER_THINGS.get(name, set())
        tree = ast.parse(path.read_text(encoding="utf-8"))
        found += [f"{name}:{line}: {word}" for line, word in compared(tree, names) if word not in others]
    assert found == []


@pytest.mark.parametrize("kind", [k for k, row in KINDS.items() if draws_a(row) > SPOILS_A])
def test_what_draws_current_is_made_for_the_volts_of_the_vehicle(kind: TestKind) -> None:
    """Of what takes more than an LED: as many watts at 6 and 24 V as at 12."""
    watts = {v: watts_at(KINDS[kind], v) for v in AT_VOLTS}
    for own in watts.values():
        assert own == pytest.approx(watts[12]), f"{kind}: what its `change` connects takes {watts} W by the volts"


def test_two_leads_take_longer_than_one_and_current_longer_than_a_touch() -> None:
    """Whatever is held between two points against what has one probe; and of the former, what draws a lamp's current
    has to be clipped on or held tight (judgement)."""
    probing = [(k, row) for k, row in KINDS.items() if row.probes and not row.takes_wire]
    one, two = ([x for x in probing if x[1].one_point is single] for single in (True, False))
    holding, touching = ([x for x in two if (draws_a(x[1]) > SPOILS_A) is much] for much in (True, False))
    told = longer(two, one) + longer(holding, touching)
    assert not told, "\n".join(told)


def longer(these: list[tuple[TestKind, Kind]], those: list[tuple[TestKind, Kind]]) -> list[str]:
    """Those of the first whose `minutes` are no more than those of each of the second."""
    return [f"{a}: its `minutes` {x.minutes} are no more than those of {b}, {y.minutes}"
            for a, x in these for b, y in those if x.minutes <= y.minutes]


def test_what_takes_more_care_takes_longer() -> None:
    """Beside the way there: a look at a lamp is less than one along a wire, that less than a probe put on, one probe
    less than two, and to look at a lamp meanwhile, or to move and pull something, is more than to touch it."""
    took = {kind: row.minutes for kind, row in KINDS.items()}
    assert 0 < took["look"] < took["inspect"] < took["volts"] < took["drop"] < took["lamp for fuse"]
    assert took["volts"] == took["test lamp"] == took["LED tester"] and took["drop"] == took["ohms"]
    assert took["volts"] < took["current"] < took["drop"] <= took["wiggle"] < took["crimp"]
    assert took["lamp for fuse"] < took["known-good lamp"] < took["crimp"], "one with leads of its own"
