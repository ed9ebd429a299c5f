"""JSON Schema of harness files, made from the table of kinds, so that editors complete and check.

It accepts whatever the reader accepts. What only the reader can know (names that do not exist,
ways that a connector has not) is left to the reader.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, Final

from tracer import standards
from tracer.errors import TracerError
from tracer.harness.base_rates import RATES
from tracer.harness.built_parts import Kind, Setting
from tracer.harness.file.parts import SETTING_TYPES, no_such_type
from tracer.harness.file.sections import CONNECTOR_KINDS
from tracer.harness.file.usual import BY_LOOM
from tracer.harness.lamp_purposes import PURPOSES
from tracer.harness.part_kinds import KINDS
from tracer.harness.vehicle_kinds import IGNITIONS, TRAFFIC, VEHICLES
from tracer.units import unit_names

Schema = dict[str, Any]

_NUMBER: Final = r"[-+]?([0-9]+([.,][0-9]*)?|[.,][0-9]+)([eE][-+]?[0-9]+)?"
# Editors read YAML with types, the reader takes every scalar as text.
_SCALAR: Final = ["string", "number", "boolean"]
_YES_NO: Final = ["yes", "no", "true", "false", True, False]
_NAME: Final = r"^[^.>,/']+$"


def _any_case(text: str) -> str:
    """A pattern without regard to capitals: the pattern language of JSON Schema has no flag for it."""
    return "".join(f"[{c.lower()}{c.upper()}]" if c.isascii() and c.isalpha() else re.escape(c) for c in text)


def _quantity(dimension: str, means: str) -> Schema:
    units = "|".join(_any_case(u) for u in unit_names(dimension))
    pattern = rf"^\s*{_NUMBER}\s*({units})\s*$"
    if dimension == "section":
        pattern = rf"{pattern}|^\s*([0-9]{{1,2}}|[1-4]/0)\s*{_any_case('AWG')}\s*$"
    return {"type": "string", "pattern": pattern, "description": means}


def _text(means: str) -> Schema:
    return {"type": _SCALAR, "description": means}


def _texts(means: str) -> Schema:
    return {"description": means, "anyOf": [{"type": _SCALAR}, {"type": "array", "items": {"type": _SCALAR}}]}


def _closed(means: str, properties: Mapping[str, Any], required: tuple[str, ...] = ()) -> Schema:
    out: Schema = {"type": "object", "description": means, "properties": dict(properties),
                   "additionalProperties": False}
    return {**out, "required": list(required)} if required else out


def _table(means: str, entry: Schema) -> Schema:
    return {"description": means, "type": ["object", "null", "string"], "maxLength": 0,
            "propertyNames": {"pattern": _NAME}, "additionalProperties": entry}


_PLACE: Final = {
    "place": _text("where it is, in words"),
    "access": _quantity("duration", "minutes to get at it the first time, like 2 min"),
}
_LAMP: Final[Schema] = {
    "anyOf": [
        {"enum": list(standards.LAMPS)},
        {"type": "string", "pattern": r"^\s*([Ll][Ee][Dd]\s+)?[0-9.,]+(\s*/\s*[0-9.,]+)?\s*[Ww]\s*$"},
    ]
}


_PURPOSES: Final[Schema] = {
    "anyOf": [{"enum": list(PURPOSES)}, {"type": "array", "minItems": 1, "items": {"enum": list(PURPOSES)}}]
}


def _setting(kind: str, key: str, setting: Setting) -> Schema:
    if setting.type not in SETTING_TYPES:
        raise TracerError(*no_such_type(f"{kind}, {key}", setting))
    means = setting.means
    if setting.type == "choice":
        return {"enum": list(setting.choices), "description": means}
    if setting.type == "lamp":
        return {**_LAMP, "description": means}
    if setting.type == "lamps":
        return {"type": "object", "minProperties": 1, "additionalProperties": _LAMP, "description": means}
    if setting.type == "contacts":
        return {"type": "object", "additionalProperties": _texts("pairs of terminals it joins, like 30-58"),
                "description": means}
    if setting.type == "purposes":
        return {**_PURPOSES, "description": means}
    if setting.type == "lamp purposes":
        return {"type": "object", "additionalProperties": _PURPOSES, "description": means}
    if setting.type in ("lamp terminals", "outputs"):
        return {"type": "object", "minProperties": 1, "additionalProperties": _text("a terminal"),
                "description": means}
    if setting.type == "steps":
        step = _quantity("resistance", "resistance in that position")
        return {"type": "object", "minProperties": 1, "additionalProperties": step, "description": means}
    if setting.type in ("terminals", "earths"):
        return _texts(means)
    if setting.type == "yes or no":
        return {"enum": _YES_NO, "description": means}
    if setting.type in ("control", "earth", "text"):
        return _text(means)
    return _quantity(setting.type, means)


def _kind(name: str, kind: Kind) -> Schema:
    properties = {
        "kind": {"const": name},
        **{key: _setting(name, key, s) for key, s in kind.settings.items()},
        **_PLACE,
        "also": _texts("other names people use for it"),
        "traced": {"enum": _YES_NO, "description": "no: nobody saw where it is bolted to earth"},
    }
    required = tuple(k for k, s in kind.settings.items() if s.required)
    return _closed(kind.means, properties, ("kind", *required))


def _part() -> Schema:
    kinds = [{"const": name, "description": kind.means} for name, kind in KINDS.items()]
    return {
        "type": "object",
        "required": ["kind"],
        "properties": {"kind": {"description": "what kind of part it is", "oneOf": kinds}},
        "allOf": [
            {"if": {"properties": {"kind": {"const": n}}, "required": ["kind"]}, "then": {"$ref": f"#/$defs/{n}"}}
            for n in KINDS
        ],
    }


def _control() -> Schema:
    positions = {"type": "array", "minItems": 2, "items": {"type": _SCALAR},
                 "description": "the first is its position at rest"}
    long_form = _closed(
        "what a person operates",
        {
            "positions": positions,
            "assumed": _text("position taken when nobody mentions it; usual: the first"),
            "sprung": {"description": "returns by itself, so that somebody has to hold it: yes, or the positions "
                                      "that spring back",
                       "anyOf": [{"enum": _YES_NO}, {"type": "string"},
                                 {"type": "array", "items": {"type": _SCALAR}}]},
            "drives": _texts("positions in which the engine drives the vehicle; [] for none"),
            "rolls": _texts("positions in which the vehicle can roll, as with a handbrake released; [] for none"),
            "minutes": _quantity("duration", "time to change it; usual 0.2 min"),
            "also": _texts("other names people use for it"),
        },
        ("positions",),
    )
    return {"anyOf": [positions, long_form]}


def _connector() -> Schema:
    ways = {"type": ["integer", "string"], "pattern": "^[0-9]+$", "minimum": 1, "maximum": 200}
    properties = {
        "kind": {"enum": list(CONNECTOR_KINDS), "description": "a plug and socket, or single-wire bullets in a block "
                                                               "that joins all of them; usual: plug"},
        "ways": {**ways, "description": "how many ways it has, numbered from 1; of bullets how many it takes"},
        "rows": {**ways, "maximum": 20, "description": "rows of its housing; decides which ways are neighbours"},
        "standard": {"enum": list(standards.SOCKETS), "description": "a trailer socket that a standard defines"},
        **_PLACE,
    }
    out = _closed("a plug-and-socket pair", properties)
    bullets = {"properties": {"kind": {"const": "bullets"}}, "required": ["kind"]}
    out = {**out, "anyOf": [{"required": ["ways"]}, {"required": ["standard"]}, bullets]}
    return {"description": out["description"], "anyOf": [ways, {"enum": list(CONNECTOR_KINDS)}, out]}


def _placed(means: str, more: Mapping[str, Any]) -> Schema:
    return {"description": means, "anyOf": [{"type": [*_SCALAR, "null"]}, _closed(means, {**_PLACE, **more})]}


def _or_names(table: Schema) -> Schema:
    """A table, or a list of names alone."""
    names = {"type": _SCALAR, "pattern": _NAME}
    return {"description": table["description"], "anyOf": [table, {"type": "array", "items": names}]}


def _wire_values() -> Schema:
    length = _quantity("length", "length of the run")
    return {
        "size": _quantity("section", "cross-section, like 1.5 mm² or 14 AWG; usual 1 mm²"),
        "colour": _text("colour letters of the code named under `colours`"),
        "length": {"description": "of the run, or a list with one length for each conductor",
                   "anyOf": [length, {"type": "array", "items": length}]},
        "temperature": _quantity("temperature", "of the conductor, like 60 °C; usual 20 °C"),
        "loom": _text("the loom it lies in: wires of one loom can melt or chafe together"),
        "flexes": {"enum": _YES_NO, "description": "it bends whenever a lid, a door, the handlebars or the steering "
                                                   "column moves, and so breaks sooner"},
        "traced": {"enum": _YES_NO, "description": "no: nobody has followed it on the vehicle, so that it may lead "
                                                   "elsewhere"},
    }


def _wire() -> Schema:
    run = {
        "type": "string", "pattern": ">",
        "description": "points from end to end, like F1.out > C1.3 > left rear.tail; a point is part.terminal, "
                       "connector.way, a splice or an earth; C1.3-6 stands for as many wires",
    }
    others = {"description": "what its run may be instead, one or a list",
              "anyOf": [run, {"type": "array", "minItems": 1, "items": run}]}
    name = _text("usual: w1, w2, … in the order of the file")
    properties = {"run": run, **_wire_values(), "or": others, "name": name}
    colour = properties["colour"]
    properties["colour"] = {"description": f"{colour['description']}; of a range of ways a list, one for each wire",
                            "anyOf": [colour, {"type": "array", "minItems": 1, "items": colour}]}
    return {"anyOf": [run, _closed("a wire", properties, ("run",))]}


def schema() -> Schema:
    """The JSON Schema (draft 2020-12) of harness files and overlays."""
    usual = _wire_values()
    usual["length"] = _quantity("length", "length of a run; usual 1 m")
    of_a_loom = _closed("what differs in one loom", {k: v for k, v in usual.items() if k != "loom"})
    usual[BY_LOOM] = {"type": "object", "additionalProperties": of_a_loom, "description": "loom: what is usual in it"}
    properties: Schema = {
        "harness": _text("title of the harness"),
        "overlay": _text("of an overlay: what differs"),
        "system": {"type": "string", "description": "like 12 V negative earth",
                   "pattern": rf"^\s*(6|12|24)\s*{_any_case('v')}({_any_case('olt')}{_any_case('s')}?)?,?\s+"
                              rf"({_any_case('negative')}|{_any_case('positive')})\s+{_any_case('earth')}\s*$"},
        "vehicle": {
            "description": "kind of vehicle, which decides what is said of safety; several where they are coupled",
            "anyOf": [{"enum": list(VEHICLES)},
                      {"type": "array", "minItems": 1, "items": {"enum": list(VEHICLES)}}]},
        "ignition": {"enum": list(IGNITIONS), "description": "how the engine is lit"},
        "traffic": {"enum": list(TRAFFIC), "description": "the side of the road it is driven on"},
        "colours": {"enum": list(standards.COLOUR_CODES), "description": "the colour code of the wires"},
        "usual": {**_closed("what a wire has when its line does not say", usual),
                  "type": ["object", "null", "string"], "maxLength": 0},
        "controls": {**_table("what a person operates", _control()), "propertyNames": {"pattern": "^[^,=]+$"}},
        "parts": _table("anything with terminals", _part()),
        "connectors": _table("plug-and-socket pairs with numbered ways", _connector()),
        "splices": _or_names(_table("joints of three or more wires: name and place", _placed("a splice", {}))),
        "earths": _or_names(_table(
            "earth points: name and place",
            _placed("an earth point", {"body": _text("the body it sits on; none if that does not conduct")}),
        )),
        "wires": {"description": "one line for each wire", "type": ["array", "null", "string"], "maxLength": 0,
                  "items": _wire()},
        "base rates": {
            **_closed("how often a kind of fault turns up on this vehicle, where it differs from the usual",
                      {k: {"type": ["number", "string"], "minimum": 0, "description": f"usual {r.rate:g}"}
                       for k, r in RATES.items()}),
            "type": ["object", "null", "string"], "maxLength": 0,
        },
        "remove": _texts("of an overlay: names of wires, parts and other things that are not there"),
    }
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Harness file of tracer",
        "type": "object",
        "properties": properties,
        "additionalProperties": False,
        "oneOf": [
            {"required": ["harness", "system", "parts", "wires"], "properties": {"remove": False}},
            {"required": ["overlay"]},
        ],
        "$defs": {name: _kind(name, kind) for name, kind in KINDS.items()},
    }
