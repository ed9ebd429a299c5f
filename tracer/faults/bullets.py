"""Faults of bullets: each is a contact of its own in a block that joins all of them."""

from __future__ import annotations

from collections.abc import Iterator

from tracer.faults.making import Fault, fault, in_common, opened, resistive
from tracer.harness.devices import Joint
from tracer.harness.model import Harness
from tracer.harness.node import node_of
from tracer.harness.terminal_words import say_node


def bullet_faults(harness: Harness) -> Iterator[Fault]:
    """Every bullet dirty or loose, or out; and the block of three and more corroded inside."""
    blocks: dict[str, list[Joint]] = {}
    for joint in harness.joints:
        if joint.kind == "bullet":
            blocks.setdefault(joint.b, []).append(joint)
    for block, joints in blocks.items():
        for d in joints:
            yield from _bullet(d, harness)
        if len(joints) > 2:
            names = tuple(d.name for d in joints)
            yield fault("block bad", block, f"block {block} is corroded inside", f"renew block {block}",
                        in_common(names), block, None, names)


def _bullet(d: Joint, harness: Harness) -> Iterator[Fault]:
    wire = wire_on(harness, d.a)
    bullet = f"the bullet {d.a} of the {wire}"
    repair = f"clean bullet {d.a} ({wire}) and push it home"
    yield fault("bullet bad", d.a, f"{bullet} is dirty or loose in {d.b}", repair, resistive(d.name), d.a, (d.a, d.b),
                (d.name,))
    yield fault("bullet out", d.a, f"{bullet} is out of {d.b}", repair, opened(d.name), d.a, (d.a, d.b), (d.name,))


def wire_on(harness: Harness, bullet: str) -> str:
    """The wire of a bullet in words: its colour and where it leads."""
    legs, ends = harness.legs(bullet), harness.far_ends(bullet)
    said = f"{legs[0].colour} wire".strip() if legs else "wire"
    return f"{said} to {say_node(node_of(ends[0]).near, harness).removesuffix(' (incoming half)')}" if ends else said
