"""Commands on a harness file: check, wires, schema, chart, simulate, faults."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import click

from tracer.commands.output import json_option, parse_settings, show, table, wrapped
from tracer.errors import ProblemsError, TracerError
from tracer.job.whole_file import need_free, write_output
from tracer.present.screen import say, say_json

if TYPE_CHECKING:
    from tracer.job.values import Harness


@click.command("check", short_help="Read a harness and report errors and doubts.")
@click.argument("harness", type=click.Path())
@click.option("--sneak", is_flag=True, help="Also scan for conductors that carry current both ways and false feeds.")
@click.option("--overlay", "overlays", multiple=True, metavar="FILE",
              help="Check the harness with what differs on this vehicle; repeatable.")
@click.option("--watch", "watching", is_flag=True, help="Check after each save and say what is new; Ctrl-C stops.")
@json_option
def check_command(harness: str, sneak: bool, overlays: tuple[str, ...], watching: bool, as_json: bool) -> int:
    """Report every error and every doubtful thing in HARNESS, and what each lamp does when healthy.

    \b
    Examples:
      tracer check harness_models/pickup.yaml --sneak
      tracer check van.yaml --watch
    """
    if watching:
        if as_json or sneak:
            raise click.UsageError("--watch says in words what is new; without --json and --sneak")
        from tracer.commands.watching import watch

        if not Path(harness).is_file():
            raise TracerError(f"{harness}: no such file", "give the harness file to watch")
        return watch(harness, overlays)
    from tracer.job.harnesses import Survey, check, load_harness, sneak_scan, truth_table

    try:
        read = load_harness(harness, overlays)
    except ProblemsError as error:
        if not all(Path(f).is_file() for f in (harness, *overlays)):
            raise
        _print_problems(harness, error, as_json)
        return 1
    survey = Survey(read)  # what one of them has solved the other need not
    findings = check(read, survey)
    lamps = truth_table(read, survey)
    report = sneak_scan(read) if sneak else None

    def data() -> dict[str, Any]:
        out: dict[str, Any] = {
            "harness": harness,
            "title": read.title,
            "findings": [f.as_data() for f in findings],
            "healthy": lamps.as_data(),
        }
        if report is not None:
            out["sneak"] = report.as_data()
        return out

    def text() -> str:
        lines = [*_summary(read), *([str(f) for f in findings] or ["no errors, nothing doubtful"])]
        lines += ["", "When healthy:", lamps.as_text()]
        if report is not None:
            lines += ["", report.as_text()]
        return "\n".join(lines)

    show(as_json, data, text)
    return 1 if any(f.severity == "error" for f in findings) else 0


def _summary(read: Harness) -> list[str]:
    """What a harness has, in one line, and how much of it nobody has followed."""
    conductors = sum(len(w.segments) for w in read.wires)
    counts = ((len(read.parts), "part"), (conductors, "conductor"), (len(read.connectors), "connector"),
              (len(read.earths), "earth point"), (len(read.lamps()), "lamp"))
    lines = [f"{read.title}: " + ", ".join(f"{n} {thing}{'s' * (n != 1)}" for n, thing in counts)]
    unsure = sum(not w.traced or bool(w.others) for w in read.wires)
    if unsure:
        lines.append(f"{unsure} of {len(read.wires)} wires not followed on the vehicle: they may run otherwise")
    return lines


def _print_problems(harness: str, error: ProblemsError, as_json: bool) -> None:
    """Every error of a harness that cannot be read."""
    if as_json:
        problems = [
            {
                "severity": "error", "message": p.message, "hint": p.hint, "file": p.file, "line": p.line,
                "column": p.column,
            }
            for p in error.problems
        ]
        say_json({"harness": harness, "findings": problems})
    else:
        for p in error.problems:
            say(f"error: {p}")
        say(f"{len(error.problems)} error{'s' * (len(error.problems) != 1)}")


@click.command("wires", short_help="The wires of a harness as a CSV list, or such a list into a harness.")
@click.argument("harness", type=click.Path())
@click.option("--from", "listed", metavar="LIST.csv", help="Take the wires from this list instead of HARNESS.")
@click.option("--add", is_flag=True, help="With --from: keep the wires of HARNESS and put the list's after them.")
@click.option("-o", "--output", type=click.Path(), metavar="FILE",
              help="The list as FILE.csv; with --from: the new harness file.")
@click.option("--semicolons", is_flag=True, help="Write semicolons and decimal commas, as European spreadsheets do.")
@json_option
def wires_command(
    harness: str, listed: str | None, add: bool, output: str | None, semicolons: bool, as_json: bool
) -> None:
    """Write the wires of HARNESS as a CSV list, one row a wire; or, with --from, lay such a list into HARNESS.

    Columns: wire, from, through (the ways it passes, with > between them), to, size, colour, length, loom,
    in any order; only from and to are needed. Commas, semicolons or tabs separate them. Nothing is
    written unless every row can be: rejected rows are named with their reason. With --from and -o HARNESS
    itself the file's wires are exchanged and all its other lines stay.

    \b
    Example: tracer wires van.yaml -o van.csv
             tracer wires van.yaml --from van.csv -o new_van.yaml
    """
    from tracer.job.harnesses import lay_in, load_harness, read_text_file, wire_list_text

    if listed is None:
        if add:
            raise click.UsageError("--add goes with --from LIST.csv")
        read = load_harness(harness)
        text = wire_list_text(read, semicolons)
        if output:
            # Without the mark, spreadsheets that want semicolons take UTF-8 for something else.
            write_output(output, "\ufeff" + text if semicolons else text, [harness])
            show(as_json, lambda: {"written": output, "wires": len(read.wires)},
                 lambda: f"written: {output}, {len(read.wires)} wires")
        else:
            show(as_json, lambda: {"csv": text, "wires": len(read.wires)}, lambda: text.rstrip("\n"))
        return
    if semicolons:
        raise click.UsageError("--semicolons is for writing a list; reading finds out by itself")
    if not output:
        raise click.UsageError("--from needs -o FILE, the harness file to write (it may be HARNESS itself)")
    if Path(output).exists() and not Path(output).samefile(harness):
        raise TracerError(f"{output} exists already; nothing was changed", "give the harness another name")
    new, made, unread = lay_in(read_text_file(harness), harness, read_text_file(listed), listed, add)
    write_output(output, new, [listed], may_be=harness)
    say_unread(unread)
    show(as_json, lambda: {"written": output, "wires": len(made.wires)},
         lambda: f"written: {output}, {len(made.wires)} wires\nnext:  tracer check {output}")


def say_unread(columns: tuple[str, ...]) -> None:
    if columns:
        from tracer.job.harnesses import unread_note

        say(unread_note(columns), err=True)


@click.command("schema", short_help="Print the JSON Schema of harness files.")
@json_option
def schema_command(as_json: bool) -> None:
    """Print the JSON Schema (2020-12) of harness files, for editors that complete and check.

    Example: tracer schema > harness.schema.json
    """
    from tracer.job.harnesses import schema

    say_json(schema())


@click.command("chart", short_help="Symptom-to-cause chart of a harness.")
@click.argument("harness", type=click.Path())
@click.option("-o", "--output", type=click.Path(), help="Write to FILE: .html for the wall, else Markdown.")
@click.option("--paper", type=click.Choice(["A3", "A4"]), default="A3", show_default=True,
              help="For the wall: A3 is read at two metres.")
@json_option
def chart_command(harness: str, output: str | None, paper: Literal["A3", "A4"], as_json: bool) -> None:
    """The symptom-to-cause chart of HARNESS for the workshop wall.

    Example: tracer chart harness_models/pickup.yaml -o chart.html
    """
    from tracer.job.harnesses import chart, load_harness
    from tracer.present.wall_chart import wall_html

    if output:
        need_free(output, [harness])
    made = chart(load_harness(harness))
    if output:
        text = wall_html(made, paper) if output.lower().endswith((".html", ".htm")) else made.as_markdown()
        write_output(output, text, [harness])
        show(as_json, lambda: {"written": output}, lambda: f"written: {output}")
        return
    show(as_json, made.as_data, made.as_markdown)


@click.command("simulate", short_help="What the lamps do in a vehicle state.")
@click.argument("harness", type=click.Path())
@click.option(
    "--set", "settings", multiple=True, metavar="CONTROL=POSITION", help="A control's position; repeatable."
)
@click.option("--engine", is_flag=True, help="Engine running.")
@click.option("--fault", "names", multiple=True, help="A fault by name or number (see tracer faults); repeatable.")
@click.option(
    "--volts", "nodes", multiple=True, metavar="TERMINAL", help="Also the voltage of a terminal; repeatable."
)
@click.option("--netlist", "netlist_file", help="Write the solved case as a SPICE netlist to FILE.")
@json_option
def simulate_command(
    harness: str,
    settings: tuple[str, ...],
    engine: bool,
    names: tuple[str, ...],
    nodes: tuple[str, ...],
    netlist_file: str | None,
    as_json: bool,
) -> None:
    """Lamp states, voltages and currents of HARNESS in one vehicle state.

    Example: tracer simulate harness_models/pickup.yaml --set gear=reverse --fault "earth open: E4"
    """
    from tracer.job.harnesses import LampLit, load_harness, say_rate, simulate

    read = load_harness(harness)
    case = simulate(read, parse_settings(settings), engine, names)
    at_terminals = case.at_terminals(nodes)  # one that is not there is told before anything is written
    if netlist_file:
        write_output(netlist_file, case.netlist, [harness])

    def look(x: LampLit) -> str:
        return x.look if x.look == x.healthy else f"{x.look} (should be {x.healthy})"

    def text() -> str:
        lines = [wrapped(told, first, "  ") for first, told in case.caution_lines()]
        lines.append(f"with {read.say_state(case.state)}" + "".join(f"; {f.says}" for f in case.faults))
        rows = [
            [x.lamp, look(x), f"{x.volts:.2f} V", f"{x.amps:.2f} A"]
            for x in case.lamps
            if x.look != "dark" or round(x.volts, 3) or x.healthy != "dark"
        ]
        lines.append(table(rows, ["lamp", "look", "volts", "amps"]) if rows else "every lamp dark")
        rate = case.flashes_per_minute
        if rate is not None:
            lines.append(f"the flasher unit gives {rate} flashes per minute: {say_rate(rate)} "
                         f"(60 to 120 are healthy)" if rate else "the flasher unit stays closed: steady light")
        lines += [f"fuse {b} blows {when}" for b, when in case.fuses_blow.items()]
        lines += [f"{r} buzzes" for r in case.relays_buzzing] or (["a relay buzzes"] if case.buzzes else [])
        lines += [f"{r} pulls in" for r in case.relays_pulled_in if r not in case.relays_buzzing]
        lines += [f"{coil} carries {amps:.2f} A" for coil, amps in case.coils_amps.items() if round(amps, 2)]
        lines += [f"{t}: {v:.2f} V" for t, v in at_terminals.items()]
        return "\n".join(lines)

    show(as_json, lambda: case.as_data(nodes), text)


@click.command("faults", short_help="Every fault the harness can have.")
@click.argument("harness", type=click.Path())
@click.option("--kind", help="Only faults of this kind, e.g. “earth open”.")
@json_option
def faults_command(harness: str, kind: str | None, as_json: bool) -> None:
    """List every fault HARNESS can have, with base rate (share of all single faults) and repair.

    Example: tracer faults harness_models/pickup.yaml --kind "earth open"
    """
    from tracer.errors import UnknownNameError, did_you_mean
    from tracer.job.harnesses import FAULT_SOURCES, RATES, list_faults, load_harness

    if kind is not None and kind not in RATES:
        raise UnknownNameError(f"no kind of fault “{kind}”", did_you_mean(kind, RATES))
    faults = list_faults(load_harness(harness))
    total = sum(f.rate for f in faults)
    shown = [(n, f) for n, f in enumerate(faults, 1) if kind in (None, f.kind)]

    def data() -> list[dict[str, Any]]:
        return [
            {
                "number": n,
                "fault": f.name,
                "kind": f.kind,
                "says": f.says,
                "share": f.rate / total,
                "source": f.source,
                "repair": f.repair,
                "repair_minutes": f.repair_min,
                "needs": f.needs,
                "severities": [v.says for v in f.variants if v.says],
            }
            for n, f in shown
        ]

    def text() -> str:
        rows = [
            [str(n), f"{f.rate / total:.3%}", FAULT_SOURCES[f.source], f.name, f.repair, f"{f.repair_min:g} min",
             f.needs]
            for n, f in shown
        ]
        head = table(rows, ["no.", "base rate", "", "fault", "repair", "takes", "needs"])
        kept = {f.source for _, f in shown}
        sources = "; ".join(f"{letter}: {s}" for s, letter in FAULT_SOURCES.items() if s in kept)
        return f"{head}\n{len(shown)} faults; base rates: {sources}"

    show(as_json, data, text)
