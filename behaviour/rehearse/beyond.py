"""What no walkthrough can show: what no run comes to, and what only a stalled movement brings.

It is asked of the search, as `check` asks it; what the search does not decide is left open.
"""

from collections.abc import Iterator
from enum import Enum

from behaviour.check.asking import Asking
from behaviour.check.coverage import check_coverage
from behaviour.explore.budget import Budget
from behaviour.model import Model
from behaviour.rehearse.coverage import Mark, Sort
from behaviour.source import Span


class Beyond(Enum):
    """Why no walkthrough can show something."""

    NEVER = "no run comes to it"
    NET = "only a movement that never ends leads to it, and no walkthrough tells of one"


def beyond_walkthroughs(model: Model, budget: Budget) -> dict[Mark, Beyond]:
    """Tell what no walkthrough can show, as far as the search gets."""
    found: dict[Mark, Beyond] = {}
    for each in check_coverage(Asking(model, budget)).findings:
        why = Beyond.NEVER if each.run is None else Beyond.NET
        if each.kind.name == "never-taken":
            found |= dict.fromkeys(_transition_at(model, each.at.span), why)
        elif each.kind.name == "never-reached" and each.place is not None:
            name, state = each.place
            number = next(s.number for s in model.region[name].states if s.name == state)
            found[Mark(Sort.STATE, name, number)] = why
    return found | _from_there(model, found)


def _transition_at(model: Model, span: Span) -> Iterator[Mark]:
    """Find the transition that stands at a place."""
    for region in model.regions:
        for way in region.transitions():
            if way.span == span:
                yield Mark(Sort.TRANSITION, region.name, way.number)


def _from_there(model: Model, found: dict[Mark, Beyond]) -> dict[Mark, Beyond]:
    """Take in the transitions of what cannot be come to: nothing is told of each of them."""
    further: dict[Mark, Beyond] = {}
    for region in model.regions:
        for way in region.transitions():
            if way.source is None:
                continue
            inside = [
                found.get(Mark(Sort.STATE, region.name, state.number))
                for state in region.states
                if not state.children and region.contains(way.source, state.number)
            ]
            if all(why is not None for why in inside):
                is_never = all(why is Beyond.NEVER for why in inside)
                why = Beyond.NEVER if is_never else Beyond.NET
                further[Mark(Sort.TRANSITION, region.name, way.number)] = why
    return further
