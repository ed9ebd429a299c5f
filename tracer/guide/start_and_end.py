"""What the guide says first and last."""

from __future__ import annotations

from tracer.guide.sitting import Sitting
from tracer.guide.talk import KEYS
from tracer.job.values import WORK, Story
from tracer.present.conversation.screens import About, Closed
from tracer.present.job_words import overview
from tracer.present.text_lines import quoted
from tracer.units import percent


def greet(sitting: Sitting) -> None:
    """Which job it is, and what is known of the vehicle."""
    job, talk = sitting.job, sitting.talk
    talk.write(f"{job.vehicle or 'Vehicle without a name'} ({job.harness.title})")
    if job.complaint:
        talk.write(f"Complaint: {job.complaint}")
    if job.harness_changed:
        talk.write("Note: the harness file has changed since this job was started.")
    if job.other_names:
        talk.write("Note: the job file has another name too (a hard link), which does not show what is recorded "
                   "here.")
    if job.learned.note:
        talk.write(f"Note: {job.learned.note}")
    for e in job.earlier_jobs:
        done = f": {'; '.join(e.repairs)}" if e.repairs else ", nothing repaired"
        talk.write(f"Earlier job on this vehicle, {e.started[:10]}{done}")
    if job.differences:
        talk.write(f"Differs from the harness file: {'; '.join(job.differences)}")
    if job.entries:
        talk.write("The job goes on where it stopped.")
        talk.working()
    talk.write(f"At every question: {KEYS}")


def ask_story(sitting: Sitting) -> None:
    """Two short questions that a job opens with; Enter passes them over."""
    talk, sitting.asked = sitting.talk, True
    towed = {*sitting.job.harness.vehicle} <= {"trailer", "caravan"} and bool(sitting.job.harness.vehicle)
    runs = None
    if not towed:
        told = talk.choose("Does it crank and run as usual?", ["yes", "no", "not known"], 3)
        runs = {1: True, 2: False}.get(told)
    work = talk.choose("What was worked on or fitted last?", [*WORK, "nothing, or not known"], len(WORK) + 1)
    story = Story(runs, work=WORK[work - 1 : work])
    if story.told:
        sitting.reply(About(story))
        talk.write(f"Recorded: {story.says()}")


def close(sitting: Sitting, screen: Closed) -> None:
    """That it is done, and how to get the report."""
    job, talk = sitting.job, sitting.talk
    talk.show(overview(job, talk.width))
    rest = ""
    if screen.risk:
        rest = f" Chance of a further fault that no check would have shown: {percent(screen.risk)}."
    talk.write(f"CLOSED: repaired and proven ({screen.repair}).{rest}", "The report:")
    talk.say(f"  tracer report {quoted(str(job.path))} -o report.html")


def farewell(sitting: Sitting) -> None:
    """How to go on."""
    sitting.talk.write("Stopped. Everything recorded so far is saved. To go on:")
    sitting.talk.say(f"  tracer guide {quoted(str(sitting.job.path))}")
