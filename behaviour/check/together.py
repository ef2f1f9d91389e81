"""Regions that are stuck together, as one finding: each stays where it is while the other does.

It reads where the runs of dead ends end, and searches nothing.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace

from behaviour.findings import Finding, Label, Run
from behaviour.model import Model
from behaviour.story import replay

NAME = "dead-end"

Place = tuple[str, str]


def stuck_together(model: Model, found: Iterable[Finding]) -> list[Finding]:
    """Make one finding of the dead ends that are there at once; all others are left as they are.

    Two are there at once where each run ends with both regions in the states that they never leave.
    """
    every = list(found)
    ends = [each for each in every if each.kind.name == NAME and each.place and each.run]
    standing = {id(each): _standing(model, each.run) for each in ends if each.run}
    groups: list[list[Finding]] = []
    for each in ends:
        for group in groups:
            first = group[0]
            if (
                first.severity is each.severity
                and first.place in standing[id(each)]
                and each.place in standing[id(first)]
            ):
                group.append(each)
                break
        else:
            groups.append([each])
    joined = {id(group[0]): _joined(group) for group in groups if len(group) > 1}
    gone = {id(each) for group in groups for each in group[1:]}
    return [joined.get(id(each), each) for each in every if id(each) not in gone]


def _standing(model: Model, run: Run) -> frozenset[Place]:
    last = replay(model, run)[-1].state
    return frozenset(
        (region.name, region.states[state.leaf].name)
        for region, state in zip(model.regions, last.regions, strict=True)
    )


def _joined(group: Sequence[Finding]) -> Finding:
    first, *others = group
    words = [f"`{each.place[0]}` in `{each.place[1]}`" for each in others if each.place]
    return replace(
        first,
        message=f"{first.message}, together with {' and '.join(words)}",
        related=(*first.related, *(Label(each.at.span, "nor out of this") for each in others)),
    )
