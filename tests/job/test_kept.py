"""What is kept between commands: found again when nothing changed, never when anything did, and done without."""

from __future__ import annotations

import os
import stat
import subprocess
import sys
import time
from collections.abc import Callable
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from msgspec import Struct, json

from tests.inference.test_wiring_pairs import own_point
from tests.library import JOBS, MODELS
from tests.long import large_long, rest_long
from tracer import cache as kept
from tracer.cache import FOLDER_VARIABLE, Arrays, Kept, own_folder, usual_folder
from tracer.harness.file.text import load_harness, read_harness
from tracer.inference.diagnose import Investigator
from tracer.inference.diagnosis import Diagnosis
from tracer.inference.diagnosis_cache import diagnosed
from tracer.inference.hypotheses import basic_states
from tracer.job.job import Job
from tracer.observation.evidence import Evidence, Reading
from tracer.observation.forward_model import Predictor
from tracer.observation.words.probes import parse_test
from tracer.observation.words.readings import parse_value
from tracer.observation.words.symptoms import parse_symptom


class Question(Struct, frozen=True):
    words: frozenset[str]
    volts: float | None


SMALL = ("trailer_13pin", "trailer_7pin", "motorcycle_6v", "rear_end")
QUESTION = Question(frozenset({"dark", "faint", "dim"}), 12.6)


class Worker:
    """Works out an answer and counts how often."""

    def __init__(self) -> None:
        self.times = 0

    def __call__(self) -> Arrays:
        self.times += 1
        return {"a": np.array([1.5, np.nan, -np.inf]), "b": np.arange(6).reshape(2, 3) > 2}


def lying(folder: Path) -> list[Path]:
    """The files kept below a folder, without the key of their digests."""
    return [p for p in own_folder(folder).iterdir() if p.name != "key"]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "cache"


def test_what_was_worked_out_is_found_again(folder: Path) -> None:
    work = Worker()
    first = Kept(folder, "a harness").recall("answer", QUESTION, work)
    second = Kept(folder, "a harness").recall("answer", QUESTION, work)
    assert work.times == 1
    assert first.keys() == second.keys()
    for name in first:
        assert first[name].dtype == second[name].dtype
        np.testing.assert_array_equal(first[name], second[name])


@pytest.mark.parametrize(("about", "what", "key"), [
    ("another harness", "answer", QUESTION),
    ("a harness", "another answer", QUESTION),
    ("a harness", "answer", Question(frozenset({"dark", "faint"}), 12.6)),
    ("a harness", "answer", Question(frozenset({"dark", "faint", "dim"}), 12.7)),
    ("a harness", "answer", Question(frozenset({"dark", "faint", "dim"}), None)),
])
def test_another_question_has_its_own_answer(folder: Path, about: str, what: str, key: Question) -> None:
    work = Worker()
    Kept(folder, "a harness").recall("answer", QUESTION, work)
    Kept(folder, about).recall(what, key, work)
    assert work.times == 2


def test_other_code_works_it_out_anew(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    work = Worker()
    Kept(folder).recall("answer", QUESTION, work)
    code = kept.code_mark()
    assert "port_newton.py " in code and "diagnose.py " in code
    monkeypatch.setattr(kept, "code_mark", lambda: code + "x")
    Kept(folder).recall("answer", QUESTION, work)
    assert work.times == 2


def test_sets_are_told_alike_in_every_process() -> None:
    script = "from tests.job.test_kept import QUESTION; from tracer.cache import said_of; print(said_of(QUESTION))"
    told = {
        subprocess.run(
            [sys.executable, "-c", script], env=os.environ | {"PYTHONHASHSEED": seed}, check=True, text=True,
            capture_output=True, cwd=Path(__file__).parents[2],
        ).stdout
        for seed in ("1", "2", "3")
    }
    assert told == {"Question({'dark', 'dim', 'faint'}, 12.6)\n"}


def test_what_has_no_words_is_refused(folder: Path) -> None:
    with pytest.raises(TypeError, match="ndarray"):
        Kept(folder).recall("answer", np.zeros(3), Worker())


@pytest.mark.parametrize("damage", [b"", b"PK\x03\x04 torn", b"\x93NUMPY nothing", b"tracer kept 2\n" + bytes(40)])
def test_a_damaged_file_is_worked_out_again(folder: Path, damage: bytes) -> None:
    work = Worker()
    Kept(folder).recall("answer", QUESTION, work)
    (file,) = lying(folder)
    file.write_bytes(damage)
    found = Kept(folder).recall("answer", QUESTION, work)
    assert work.times == 2 and found["a"][0] == 1.5
    Kept(folder).recall("answer", QUESTION, work)
    assert work.times == 2  # mended


def test_half_a_file_is_worked_out_again(folder: Path) -> None:
    work = Worker()
    Kept(folder).recall("answer", QUESTION, work)
    (file,) = lying(folder)
    file.write_bytes(file.read_bytes()[:-200])
    Kept(folder).recall("answer", QUESTION, work)
    assert work.times == 2


def test_a_folder_that_cannot_be_is_done_without(tmp_path: Path) -> None:
    work = Worker()
    (tmp_path / "file").write_text("no folder")
    for _ in range(2):
        assert Kept(tmp_path / "file" / "below").recall("answer", QUESTION, work)["a"][0] == 1.5
    assert work.times == 2


def test_nothing_is_kept_without_a_folder(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(FOLDER_VARIABLE, "off")
    assert usual_folder() is None
    work = Worker()
    for _ in range(2):
        Kept(usual_folder()).recall("answer", QUESTION, work)
    assert work.times == 2


def test_the_usual_folder_is_the_users(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv(FOLDER_VARIABLE, str(tmp_path))
    assert usual_folder() == tmp_path
    monkeypatch.delenv(FOLDER_VARIABLE)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "own"))  # XDG base directory specification
    assert usual_folder() == tmp_path / "own" / "tracer"
    monkeypatch.setenv("XDG_CACHE_HOME", "")
    monkeypatch.setenv("HOME", str(tmp_path))
    assert usual_folder() == tmp_path / ".cache" / "tracer"


def test_what_was_not_asked_for_longest_goes_first(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kept, "_MOST_BYTES", 3 * 160)  # each of them is some 130 bytes
    own = {n: Worker() for n in range(6)}
    for n, work in own.items():
        Kept(folder).recall("answer", n, work)
        for age, file in enumerate(sorted(lying(folder), key=lambda f: -f.stat().st_mtime)):
            os.utime(file, (1e9 - age, 1e9 - age))  # clocks of files may be coarse
        Kept(folder).recall("answer", 0, own[0])
    assert own[0].times == 1  # asked for all the time
    Kept(folder).recall("answer", 1, own[1])
    assert own[1].times == 2
    assert sum(f.stat().st_size for f in lying(folder)) < 4 * 160


TOLD = {
    "two lamps": ("left tail dark when lamp switch side", "right stop dark when brake pedal pressed"),
    "comes and goes": ("left stop sometimes dark when brake pedal pressed",),
    "said again": ("left tail dark when lamp switch side", "left tail dark when lamp switch side"),
    "lit where it should be dark": (
        "left stop bright when lamp switch side", "left stop full brightness when lamp switch side",
        "right stop full brightness when lamp switch side",
    ),
    "nothing": (),
}


@pytest.mark.parametrize(("name", "triples"), [
    ("two lamps", True), ("comes and goes", False), ("lit where it should be dark", False),
    *(pytest.param(name, triples, marks=pytest.mark.long) for name, triples in (
        ("two lamps", False), ("said again", False), ("nothing", False), ("comes and goes", True),
        ("said again", True), ("lit where it should be dark", True), ("nothing", True))),
])
def test_a_diagnosis_is_the_same_when_found_again(folder: Path, name: str, triples: bool) -> None:
    told = TOLD[name]
    harness = load_harness(MODELS / "rear_end.yaml")
    evidence = [parse_symptom(text, harness) for text in told]
    repair = Investigator(harness).faults[0].repair

    def found(store: Kept) -> Diagnosis:
        return diagnosed(Investigator(harness, 12.4, store), evidence, {repair: 0.03}, triples, store)

    fresh, first = found(Kept()), found(Kept(folder))
    # With the fuses that shorts blow, the healthy vehicle in one phase of the flasher or in both, and what all single
    # faults show in the states that were told of or may have been meant.
    there = set(lying(folder))
    assert len(there) >= (4 if told else 3)
    again = found(Kept(folder))
    assert set(lying(folder)) == there
    for other in (first, again):
        for part in ("loglik", "share", "healthy", "beyond", "random"):
            np.testing.assert_array_equal(getattr(other, part), getattr(fresh, part))
        assert other.undescribed == fresh.undescribed and other.search == fresh.search
        assert other.hypotheses == fresh.hypotheses
        assert other.suspects == fresh.suspects


def test_two_measured_faults_are_found_again(folder: Path) -> None:
    """Both at severities that their grids have not."""
    harness = load_harness(MODELS / "rear_end.yaml")
    evidence: list[Evidence] = [
        parse_symptom("left rear stop faint, right rear stop dim when brake pedal pressed", harness)]
    for text, shown in (("volts at left rear.earth", "4.7 V"), ("volts at left rear.stop", "8.0 V"),
                        ("volt drop C1.3 to C1.3'", "4.25 V"), ("volts at E1", "4.69 V")):
        test = parse_test(f"{text} when brake pedal pressed", harness)
        evidence.append(Reading(test, parse_value(shown, test.kind)))

    def found(store: Kept) -> Diagnosis:
        return diagnosed(Investigator(harness, None, store), evidence, {}, False, store)

    fresh, first, again = found(Kept()), found(Kept(folder)), found(Kept(folder))
    assert any(len(h.faults) == 2 and all(v not in f.variants for f, v in zip(h.faults, h.variants, strict=True))
               for h in fresh.hypotheses)
    assert first.hypotheses == again.hypotheses == fresh.hypotheses
    assert again.suspects == fresh.suspects
    np.testing.assert_array_equal(again.share, fresh.share)


def test_a_fault_beside_a_line_that_leads_elsewhere_is_found_again(folder: Path) -> None:
    """At severities that its grid has not."""
    harness = read_harness(own_point())
    test = parse_test("volts at right tail.earth when lights side", harness)
    evidence: list[Evidence] = [parse_symptom("right tail faint, plate lamp normal when lights side", harness),
                Reading(test, parse_value("6 V", test.kind, test.lamp))]

    def found(store: Kept) -> Diagnosis:
        return diagnosed(Investigator(harness, None, store), evidence, {}, False, store)

    fresh, first, again = found(Kept()), found(Kept(folder)), found(Kept(folder))
    beside = [h for h in fresh.hypotheses if h.deviations and h.faults[0].scale is not None
              and h.variants[0] not in h.faults[0].variants]
    assert beside
    assert first.hypotheses == again.hypotheses == fresh.hypotheses
    np.testing.assert_array_equal(again.share, fresh.share)


@pytest.mark.parametrize("model", large_long(["pickup", "saloon_led"]))
def test_the_healthy_vehicle_is_not_solved_twice(folder: Path, model: str, monkeypatch: pytest.MonkeyPatch) -> None:
    harness = load_harness(MODELS / f"{model}.yaml")
    states = basic_states(harness)
    fresh, again = Predictor(harness), Predictor(harness)
    fresh.remember(states, Kept(folder))
    solved: list[object] = []
    with monkeypatch.context() as patch:
        patch.setattr(again.settler, "_settle", solved.append)
        again.remember(states, Kept(folder))
    assert not solved
    for state in states:
        one, other = (p.settler.healthy(p.setup(state)) for p in (fresh, again))
        np.testing.assert_array_equal(one.solution.volts, other.solution.volts)
        np.testing.assert_array_equal(one.pulled_in, other.pulled_in)
        np.testing.assert_array_equal(fresh.healthy(state).flux, again.healthy(state).flux)
    alone = Predictor(harness)  # and it is what is found without all this
    for state in states:
        np.testing.assert_allclose(alone.healthy(state).flux, again.healthy(state).flux, atol=1e-6)


@pytest.mark.parametrize("name", rest_long([n for n in sorted(JOBS, reverse=True) if JOBS[n].model in SMALL][::2]))
def test_a_job_goes_on_the_same(tmp_path: Path, name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "job.yaml"
    Job.create(path, MODELS / f"{JOBS[name].model}.yaml")
    for text in JOBS[name].symptoms:
        Job(path).symptom(text)
    for test, value in JOBS[name].readings:
        Job(path).reading(test, value)
    monkeypatch.setenv(FOLDER_VARIABLE, "off")
    alone = Job(path).next(record=False)
    monkeypatch.setenv(FOLDER_VARIABLE, str(tmp_path / "cache"))
    for _ in range(2):
        assert Job(path).next(record=False) == alone


def test_a_changed_harness_is_weighed_anew(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(FOLDER_VARIABLE, str(tmp_path / "cache"))
    harness, path = tmp_path / "harness.yaml", tmp_path / "job.yaml"
    text = (MODELS / "rear_end.yaml").read_text(encoding="utf-8")
    harness.write_text(text, encoding="utf-8")
    Job.create(path, harness)
    Job(path).symptom("left tail dark when lamp switch side")
    before = Job(path).suspects()
    assert Job(path).suspects() == before
    files = set(lying(tmp_path / "cache"))
    harness.write_text(text + "\n# a word more\n", encoding="utf-8")
    assert Job(path).suspects() == before
    assert set(lying(tmp_path / "cache")) > files


# ---- the folder prepared by somebody else


@pytest.mark.skipif(not kept.ONLY_OWNER, reason="no modes there")
def test_the_folder_is_for_this_user_alone(folder: Path) -> None:
    Kept(folder).recall("answer", QUESTION, Worker())
    own = own_folder(folder)
    assert stat.S_IMODE(own.stat().st_mode) == 0o700
    assert {stat.S_IMODE(p.stat().st_mode) for p in own.iterdir()} == {0o600}


@pytest.mark.skipif(not kept.ONLY_OWNER, reason="no modes there")
def test_a_folder_opened_to_others_counts_no_more(folder: Path) -> None:
    work = Worker()
    Kept(folder).recall("answer", QUESTION, work)
    own_folder(folder).chmod(0o777)
    Kept(folder).recall("answer", QUESTION, work)
    assert work.times == 2 and stat.S_IMODE(own_folder(folder).stat().st_mode) == 0o700


def test_files_of_others_in_the_folder_stay(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder.mkdir()
    thesis, numbers = folder / "thesis.npz", folder / "notes.kept"
    thesis.write_bytes(b"x" * 5000)
    numbers.write_bytes(b"y" * 5000)
    monkeypatch.setattr(kept, "_MOST_BYTES", 100)
    for n in range(3):
        Kept(folder).recall("answer", n, Worker())
        (own_folder(folder) / "mine.txt").write_text("mine")
    assert thesis.stat().st_size == numbers.stat().st_size == 5000
    assert (own_folder(folder) / "mine.txt").read_text() == "mine"


def test_prepared_links_reach_nothing(folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    victim = tmp_path / "victim"
    victim.write_bytes(b"precious")
    work = Worker()
    Kept(folder).recall("answer", QUESTION, work)
    (file,) = lying(folder)
    for name in (file.name, f".{file.stem}.{os.getpid()}.part"):
        (own_folder(folder) / name).unlink(missing_ok=True)
        (own_folder(folder) / name).symlink_to(victim)
    Kept(folder).recall("answer", QUESTION, work)
    assert work.times == 2 and victim.read_bytes() == b"precious"


def test_a_link_in_the_place_of_the_folder_is_not_entered(folder: Path, tmp_path: Path) -> None:
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    folder.mkdir()
    own_folder(folder).symlink_to(elsewhere)
    work = Worker()
    Kept(folder).recall("answer", QUESTION, work)
    assert work.times == 1 and list(elsewhere.iterdir()) == []


def forged(folder: Path, payload: bytes) -> None:
    """Put other arrays in the place of the one file kept, as somebody could who cannot read the key."""
    (file,) = lying(folder)
    content = file.read_bytes()
    file.write_bytes(content[:len(b"tracer kept 2\n") + 32] + payload)


def test_what_was_not_written_here_is_not_believed(folder: Path) -> None:
    work = Worker()
    Kept(folder).recall("answer", QUESTION, work)
    forged(folder, kept.packed({"a": np.array([9.0, 9.0, 9.0]), "b": np.zeros((2, 3), bool)}))
    assert Kept(folder).recall("answer", QUESTION, work)["a"][0] == 1.5
    assert work.times == 2


def told(**arrays: tuple[str, tuple[int, ...], str]) -> bytes:
    """A payload that tells of arrays, and holds the eight bytes of one number."""
    head = json.encode(arrays)
    return len(head).to_bytes(4, "little") + head + bytes(8)


FALSE_PAYLOADS = {
    "more numbers than there are": told(a=("<f8", (20_000_000,), "C")),
    "fewer than there are": told(a=("<f8", (0,), "C")),
    "so many that nobody can count them": told(a=("<f8", (10**9, 10**9, 10**9), "C")),
    "fewer than none": told(a=("<f8", (-1,), "C")),
    "fewer than none, twice": told(a=("<f8", (-1, -1), "C")),
    "objects": told(a=("|O", (1,), "C")),
    "no kind of number": told(a=("<x9", (1,), "C")),
    "bytes one after the other in no order": told(a=("<f8", (1,), "K")),
    "a head of more bytes than there are": b"\xff\xff\xff\xff{}",
    "nothing": b"",
}


@pytest.mark.parametrize("name", FALSE_PAYLOADS)
def test_what_cannot_be_arrays_is_worked_out_at_no_cost(folder: Path, name: str) -> None:
    """Under a digest that is right: whoever has the key still sends no huge array from a small file."""
    work = Worker()
    Kept(folder).recall("answer", QUESTION, work)
    (file,) = lying(folder)
    secret, payload = (own_folder(folder) / "key").read_bytes(), FALSE_PAYLOADS[name]
    file.write_bytes(b"tracer kept 2\n" + kept.digest(secret, file.stem, payload) + payload)
    started = time.process_time()
    assert Kept(folder).recall("answer", QUESTION, work)["a"][0] == 1.5
    assert work.times == 2 and time.process_time() - started < 1


@pytest.mark.parametrize("array", [
    np.arange(12.0).reshape(3, 4), np.arange(12).reshape(3, 4).T, np.arange(12.0).reshape(3, 4)[:, 1::2],
    np.zeros((0, 3)), np.zeros((2, 0), dtype=np.intp), np.array(2.5), np.array([True, False]), np.array(["a", "bcd"]),
    np.array([np.nan, -np.inf, 5e-324]),
], ids=lambda a: f"{a.dtype.str} {a.shape}")
def test_an_array_comes_back_as_it_was(array: np.ndarray) -> None:
    """With its order in memory: numpy adds up in that order, and the last digits go by it."""
    beside = np.arange(3, dtype=np.int8)  # what comes after it begins anywhere
    found = kept.unpacked(kept.packed({"beside": beside, "a": array, "last": beside}))
    assert [*found] == ["beside", "a", "last"]
    np.testing.assert_array_equal(found["a"], array, strict=True)
    np.testing.assert_array_equal(found["last"], beside, strict=True)
    assert found["a"].flags.writeable and found["a"].flags.aligned
    assert found["a"].flags.f_contiguous == (array.flags.f_contiguous or not array.size)


def test_a_fifo_in_the_place_of_a_file_is_not_waited_for(folder: Path) -> None:
    work = Worker()
    Kept(folder).recall("answer", QUESTION, work)
    for name in (*[p.name for p in lying(folder)], "key"):
        (own_folder(folder) / name).unlink()
        os.mkfifo(own_folder(folder) / name)
    Kept(folder).recall("answer", QUESTION, work)
    assert work.times == 2


FALSE_SHARES: dict[str, Callable[[dict[str, np.ndarray]], None]] = {
    "a share of one for the first": lambda a: a.update(share=np.eye(1, len(a["share"]))[0]),
    "too few shares": lambda a: a.update(share=a["share"][:-1]),
    "a share that is no number": lambda a: a.update(share=a["share"] * np.nan),
    "a fault that is not there": lambda a: a.update(members=np.full((1, 3), 10**6), several=np.full((1, 2), 0.5)),
    "two faults of which one is not there": lambda a: a.update(both=np.array([[0.0, 1.0, 1e6, 1.0, 0.1, 1.0]])),
    "texts": lambda a: a.update(loglik=a["loglik"].astype(str)),
    "nothing": lambda a: a.clear(),
}


@cache
def weighed_once() -> tuple[Investigator, list[Evidence], Diagnosis]:
    harness = load_harness(MODELS / "rear_end.yaml")
    evidence: list[Evidence] = [parse_symptom("left tail dark when lamp switch side", harness)]
    tool = Investigator(harness, 12.4)
    return tool, evidence, diagnosed(tool, evidence, {}, False, Kept())


@pytest.mark.parametrize("name", FALSE_SHARES)
def test_shares_that_cannot_be_are_weighed_anew(folder: Path, name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Under a right digest: the shapes and ranges alone must give it away."""
    tool, evidence, fresh = weighed_once()
    diagnosed(tool, evidence, {}, False, Kept(folder))
    (file,) = lying(folder)
    secret = (own_folder(folder) / "key").read_bytes()
    arrays = dict(kept.read_kept(own_folder(folder), file.stem, secret) or {})
    FALSE_SHARES[name](arrays)
    kept.write_kept(own_folder(folder), file.stem, secret, arrays)
    again = diagnosed(tool, evidence, {}, False, Kept(folder))
    np.testing.assert_array_equal(again.share, fresh.share)
