"""Faults of bullets: each is a contact of its own in a block that joins all of them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from itertools import product
from typing import Final

from msgspec.structs import replace

from tracer.circuit.model import OPEN_OHM, AddedBranch, Change
from tracer.faults.copper import Nets
from tracer.faults.making import Fault, fault, in_common, opened, resistive, sure
from tracer.harness.devices import Joint
from tracer.harness.model import Harness
from tracer.harness.node import node_of
from tracer.harness.terminal_words import say_node

_MOST_BESIDE: Final = 6  # blocks at one place with which one block is mistaken


def bullet_faults(harness: Harness) -> Iterator[Fault]:
    """Every bullet dirty or loose, or out; in another block than its own; and the block of three and more corroded
    inside."""
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
    yield from _in_the_wrong_block(blocks, harness)


def _in_the_wrong_block(blocks: Mapping[str, Sequence[Joint]], harness: Harness) -> Iterator[Fault]:
    """A bullet pushed into the free hole of a block beside its own, or two changed over. Of wires of one loom: the
    hand that mistakes them holds both. Black is never taken for a feed, so earths are left out."""
    nets, beside = Nets(harness), dict[str, list[str]]()
    for block in blocks:
        if not nets.earth(block):
            beside.setdefault(harness.connectors[block].place, []).append(block)
    made: list[Fault] = []
    for names in beside.values():
        for k, one in enumerate(names):
            for other in names[k + 1 : k + 1 + _MOST_BESIDE]:
                if not nets.same(one, other):
                    made += _changed_over(blocks[one], blocks[other], harness)
                    made += _misplaced(blocks[one], other, blocks[other], harness)
                    made += _misplaced(blocks[other], one, blocks[one], harness)
    # The rate is a bullet's, however many holes and bullets there are in which it may have gone.
    ways = Counter((f.kind, bullet) for f in made for bullet in f.elements)
    for f in made:
        yield replace(f, rate=f.rate * sum(1 / ways[f.kind, b] for b in f.elements) / len(f.elements))


def _changed_over(one: Sequence[Joint], other: Sequence[Joint], harness: Harness) -> Iterator[Fault]:
    """Two bullets, each in the block of the other. With two sleeves of two it is the same whichever ends are changed
    over, and one of the two stands for both."""
    known: set[frozenset[str]] = set()
    for a, b in product(one, other):
        if _loom(a, harness) != _loom(b, harness):
            continue
        rest = [d.a for d in (*one, *other) if d not in (a, b)]
        if len(rest) == 2 and frozenset(rest) in known:
            continue
        known.add(frozenset((a.a, b.a)))
        change = Change(set_ohm=((a.name, OPEN_OHM), (b.name, OPEN_OHM)),
                        added=(AddedBranch(a.a, b.b, b.ohm), AddedBranch(b.a, a.b, a.ohm)))
        yield fault("bullets changed over", f"{a.a} and {b.a}", f"bullets {a.a} and {b.a} are in each other’s blocks",
                    f"change bullets {a.a} ({wire_on(harness, a.a)}) and {b.a} ({wire_on(harness, b.a)}) back",
                    sure(change), a.a, None, (a.name, b.name))


def _misplaced(own: Sequence[Joint], to: str, there: Sequence[Joint], harness: Harness) -> Iterator[Fault]:
    """A bullet in the free hole of another block."""
    if harness.connectors[to].ways <= len(there):
        return
    looms = {_loom(d, harness) for d in there}
    for d in own:
        if _loom(d, harness) in looms:
            change = Change(((d.name, OPEN_OHM),), (AddedBranch(d.a, to, d.ohm),))
            wire = wire_on(harness, d.a)
            yield fault("bullet in the wrong block", f"{d.a} in {to}", f"the bullet {d.a} of the {wire} is in {to}",
                        f"put bullet {d.a} ({wire}) back into {d.b}", sure(change), d.a, None, (d.name,))


def _loom(d: Joint, harness: Harness) -> str:
    return next((s.loom or "" for s in harness.legs(d.a)), "")


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
