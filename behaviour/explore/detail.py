"""How closely a search looks at a model: which clocks are tracked, and which inputs followed."""

from dataclasses import dataclass, replace

from behaviour.explore.guards import Clock, looked_at_with
from behaviour.explore.scheduling import Blame
from behaviour.model import Model


@dataclass(frozen=True, slots=True)
class Detail:
    """The clocks that are tracked (None: all) and the inputs that are followed without them.

    Of clocks that take turns all are tracked, by the name of one of them. With `recalls` guards
    that were told as they are are presumed unsafe no more.
    """

    tracked: frozenset[Clock] | None = frozenset()
    follow: frozenset[int] = frozenset()
    recalls: bool = False

    def more(self, blame: Blame) -> "Detail":
        """Look closer by what was to blame; at everything if that is looked at already."""
        if self.tracked is None:
            return self
        clocks = frozenset(map(looked_at_with, blame.clocks))
        closer = Detail(
            self.tracked | clocks, self.follow | blame.follow, self.recalls or blame.recalls
        )
        return ALL if closer == self else closer

    def carried(self, model: Model, to: Model) -> "Detail":
        """Look at the same in a finer drawing of the prop, as far as it is there.

        Whatever detail a search begins with, what it does not find is never.
        """
        if self.tracked is None:
            return self
        clocks = (_carried(clock, model, to) for clock in self.tracked)
        inputs = (to.input_index.get(model.inputs[number].name) for number in self.follow)
        return Detail(
            frozenset(clock for clock in clocks if clock is not None),
            frozenset(number for number in inputs if number is not None),
            self.recalls,
        )

    def moving_too(self, model: Model, to: Model) -> "Detail":
        """Look besides at the movements of a finer drawing that this one has not, if at any clock.

        Where the times of regions or watches counted, those of what they wait for mostly do.
        """
        if not self.tracked:
            return self
        new = (at for name, at in to.mechanism_index.items() if name not in model.mechanism_index)
        clocks = {("movement", at, 0) for at in new}
        return replace(self, tracked=self.tracked | clocks)


NO_DETAIL = Detail()
ALL = Detail(None)


def times_of(model: Model, region: str) -> Detail:
    """Look at the times of a region and of all movements, and at when their news comes in.

    By these it is known what is over sooner. A model without mechanisms is not looked at closely.
    """
    if not model.mechanism:
        return NO_DETAIL
    at = model.region_index[region]
    deepest = max(len(model.regions[at].path(leaf.number)) for leaf in model.regions[at].states)
    clocks = {("region", at, depth) for depth in range(deepest)}
    clocks |= {("movement", number, 0) for number in range(len(model.mechanism))}
    clocks |= {("filter", model.input_index[name], 0) for name in model.moved}
    return Detail(frozenset(clocks))


def times_in(model: Model, watches: int) -> frozenset[Clock]:
    """Name the clocks of all states and of so many watches."""
    depths = [
        max(len(region.path(state.number)) for state in region.states) for region in model.regions
    ]
    found = {("region", at, depth) for at, most in enumerate(depths) for depth in range(most)}
    return frozenset(found | {("watch", number, 0) for number in range(watches)})


def _carried(clock: Clock, model: Model, to: Model) -> Clock | None:
    """Give the clock that counts the same in another model, if there is one."""
    family, number, which = clock
    match family:
        case "watch":
            return clock
        case "region":
            there = to.region_index.get(model.regions[number].name)
        case "movement":
            count = len(model.mechanism)
            there = to.mechanism_index.get(model.mechanism[number % count].name)
            if there is not None and number >= count:
                there += len(to.mechanism)
        case _:
            there = to.input_index.get(model.inputs[number].name)
    return None if there is None else (family, there, which)
