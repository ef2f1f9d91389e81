"""Bounce and interference measured from a recording of inputs, as a bench shows them.

A burst is a run of changes that come close upon each other. One that ends in another value than
the one before it is a change that bounced; one that ends in the same value is a disturbance, and
nobody did anything. What was seen longest is a bound from below: a contact may bounce longer.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from behaviour.bench.capture import Capture, Signal, Sort, Stretch
from behaviour.model import Input, Micros, Model, Quantity

APART: Micros = 20_000
"""Changes further apart than this are no burst: nobody lets go of a button sooner."""


@dataclass(frozen=True, slots=True)
class Burst:
    """When a burst began and how long it lasted; `drives` names the hazards away from rest."""

    at: Micros
    lasted: Micros
    is_change: bool
    drives: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Noise:
    """What was seen of one input: how often it really changed, and each burst."""

    input: str
    changes: int
    bursts: tuple[Burst, ...]

    @property
    def bounce(self) -> Burst | None:
        """Give the change that bounced longest."""
        return self._longest(burst for burst in self.bursts if burst.is_change)

    @property
    def interference(self) -> Burst | None:
        """Give the longest disturbance while something dangerous was driven."""
        return self._longest(each for each in self.bursts if not each.is_change and each.drives)

    @property
    def at_rest(self) -> Burst | None:
        """Give the longest disturbance while nothing dangerous was driven."""
        return self._longest(each for each in self.bursts if not each.is_change and not each.drives)

    def _longest(self, bursts: Iterable[Burst]) -> Burst | None:
        return max(bursts, key=lambda burst: burst.lasted, default=None)


def noise_of(model: Model, captures: Sequence[Capture]) -> tuple[Noise, ...]:
    """Measure every input of some recordings, in the order of the file."""
    found = []
    for item in model.inputs:
        signals = [(c, c.signal(Sort.INPUT, item.name)) for c in captures]
        seen = [(capture, signal) for capture, signal in signals if signal is not None]
        each = [_measured(model, item, capture, signal) for capture, signal in seen]
        if each:
            changes = sum(noise.changes for noise in each)
            bursts = tuple(burst for noise in each for burst in noise.bursts)
            found.append(Noise(item.name, changes, bursts))
    return tuple(found)


def with_noise(model: Model, measured: Iterable[Noise]) -> Model:
    """Give the model with what was measured: in place of a guess, else where it is longer."""
    by_name = {noise.input: noise for noise in measured}
    return replace(
        model,
        inputs=tuple(
            replace(item, noise=_figures(item, by_name[item.name]))
            if item.name in by_name
            else item
            for item in model.inputs
        ),
    )


def apart(model: Model, item: Input) -> Micros:
    """Give how close changes must be to be one burst, closer than the hardware ever makes them."""
    windows = [
        movement.low
        for mechanism in model.mechanism
        for movement in mechanism.movements()
        if any(name == item.name for name, _ in mechanism.states[movement.source].reads)
        and isinstance(movement.low, int)
    ]
    return min([APART, *(low // 2 for low in windows)])


# --- One input ----------------------------------------------------------------------------------


def _measured(model: Model, item: Input, capture: Capture, signal: Signal) -> Noise:
    hazards = [
        (output, driven)
        for output in model.outputs
        if output.hazard and (driven := capture.signal(Sort.OUTPUT, output.name)) is not None
    ]
    changes, bursts = 0, []
    for before, group in _groups(signal.stretches, apart(model, item)):
        is_change = group[-1].value != before
        changes += is_change
        if len(group) > 1:
            drives = tuple(
                output.name
                for output, driven in hazards
                if driven.value(group[0].at) != output.rest
            )
            bursts.append(Burst(group[0].at, group[-1].at - group[0].at, is_change, drives))
    return Noise(item.name, changes, tuple(bursts))


def _groups(
    stretches: Sequence[Stretch], close: Micros
) -> Iterator[tuple[str, tuple[Stretch, ...]]]:
    """List the changes that come close upon each other, with the value before them."""
    before, group = stretches[0].value, list(stretches[1:2])
    for each in stretches[2:]:
        if each.at - group[-1].at > close:
            yield before, tuple(group)
            before, group = group[-1].value, []
        group.append(each)
    if group:
        yield before, tuple(group)


def _figures(item: Input, noise: Noise) -> tuple[tuple[str, Quantity], ...]:
    figures = dict(item.noise)
    for kind, burst in (("bounce", noise.bounce), ("interference", noise.interference)):
        written = figures.get(kind)
        if burst is not None and _counts(burst, written):
            figures[kind] = Quantity(number=burst.lasted / 1000, unit="ms", known="measured")
    return tuple(figures.items())


def _counts(burst: Burst, written: Quantity | None) -> bool:
    if written is None or written.known == "guess":
        return True
    from behaviour.numbers.measures import measured

    return burst.lasted / 1000 > measured(written, "ms")
