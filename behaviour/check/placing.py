"""Where one region may be and how it drives there, by its transitions alone and by what is told."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

from behaviour.check.hands import Hands, Names, every, inverse
from behaviour.check.spots import Spot, after, begin, spots_of
from behaviour.explore.guards import atoms
from behaviour.model import And, Condition, InState, Is, Model, Not, Or, Region
from behaviour.semantics import settings

NOTHING: Mapping[str, str] = {}
NOWHERE: Mapping[str, int] = {}


class Told(NamedTuple):
    """What the controller is told in a loop, and what inputs truly are.

    The `presumed` are told what they have been presumed to be since power-up.
    """

    hands: Hands
    truly: Mapping[str, str]
    presumed: Names


@dataclass(eq=False)
class Placing:
    """One region of a model; what it drives by a move, or keeps, is not known of it."""

    model: Model
    region: Region
    _drives: dict[Spot, Mapping[str, str]] = field(default_factory=dict, init=False)
    _presuming: dict[str, set[Spot]] = field(default_factory=dict, init=False)

    def leads(self, told: Iterable[Told], before: Condition | None, wanted: Condition) -> bool:
        """Tell whether a loop in which any of it is told leads to what is wanted for certain.

        The region is then anywhere where `before` may hold.
        """
        spots = [spot for spot in spots_of(self.region) if self.judge(before, spot) is not False]
        return all(
            self.judge(wanted, to, each.truly)
            for each in told
            for spot in spots
            if all(spot in self._presumed_in(name) for name in each.presumed)
            for to in after(self.region, spot, each.hands)
        )

    def begins(self, told: Iterable[Told], where: Condition | None, wanted: Condition) -> bool:
        """Tell whether power-up leads to what is wanted for certain, or to where `where` fails."""
        return all(
            self.judge(where, to) is False or self.judge(wanted, to, each.truly)
            for each in told
            for to in begin(self.region, each.hands)
        )

    def judge(
        self,
        condition: Condition | None,
        spot: Spot,
        truly: Mapping[str, str] = NOTHING,
        stood: Mapping[str, int] = NOWHERE,
    ) -> bool | None:
        """Judge a condition with the region in a spot; None where more is asked than is known.

        Inputs, and outputs that are not as the region drives them, `truly` are so, and mechanisms
        stand where they have `stood`.
        """
        match condition:
            case None:
                return True
            case And(parts=parts):
                return every([self.judge(part, spot, truly, stood) for part in parts])
            case Or(parts=parts):
                found = [inverse(self.judge(part, spot, truly, stood)) for part in parts]
                return inverse(every(found))
            case Not(part=part):
                return inverse(self.judge(part, spot, truly, stood))
            case Is(name=name, values=values, negated=negated):
                value = truly.get(name, self.driven(spot).get(name))
                return None if value is None else (value in values) != negated
            case InState(region=name, state=state, negated=negated) if name == self.region.name:
                return self.region.contains(state, spot[0]) != negated
            case InState(region=name, state=state, negated=negated) if name in stood:
                return (stood[name] == state) != negated
            case _:
                return None

    def driven(self, spot: Spot) -> Mapping[str, str]:
        """Give what the region drives in a spot, as far as it is known."""
        if spot not in self._drives:
            sets = settings(self.region, *spot)
            drives = {name: sets.get(name, rest) for name, rest in self._rests.items()}
            self._drives[spot] = drives
        return self._drives[spot]

    @cached_property
    def _rests(self) -> dict[str, str]:
        settings_of = (each for state in self.region.states for each in state.sets)
        moved = {each.output for each in settings_of if each.move is not None}
        return {
            output.name: output.rest
            for output in self.model.outputs
            if self.model.owner.get(output.name) == self.region.name
            and not output.keeps
            and output.name not in moved
        }

    def _presumed_in(self, name: str) -> set[Spot]:
        """Give where the region may be while an input is what it has been presumed to be."""
        if name not in self._presuming:
            hands = Hands({name: self.model.input[name].presumed or ""})
            found = self._presuming[name] = set(begin(self.region, hands))
            ahead = list(found)
            while ahead:
                new = set(after(self.region, ahead.pop(), hands)) - found
                found |= new
                ahead += new
        return self._presuming[name]


def placings(model: Model, condition: Condition) -> Iterator[Placing]:
    """List the regions whose states or outputs a condition names, each once."""
    names: dict[str, None] = {}
    for atom in atoms(condition):
        name = atom.region if isinstance(atom, InState) else model.owner.get(atom.name, "")
        names |= {name: None} if name in model.region else {}
    for name in names:
        yield Placing(model, model.region[name])
