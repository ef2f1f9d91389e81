"""Random testing beside the search: hypothesis' stateful machine plays a prop by `step`.

It turns inputs and waits; mechanisms and random times do as dice say. What it has played is judged
by plain definition, so it can find only what a run can show by itself.
"""

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from random import Random

from hypothesis import HealthCheck, Phase, Verbosity, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, rule, run_state_machine_as_test

from behaviour.check.claims import ends_in
from behaviour.check.judging import breaches
from behaviour.findings import Run, Stimulus
from behaviour.model import Model
from behaviour.semantics import PropState, look_back, power_up, step, window_of
from behaviour.story import Views, has_changed, replay
from behaviour.world.mechanism import Stand, at_power_up, choose, settle
from tests.expectations import Expected

IN_THE_LAST_LOOP = ("reverses-at-once", "moves-at-power-up", "too-quick", "out-of-range")
"""What the last loop of a run shows, beside rules."""

SHOWN_BY_A_RUN = ("rule-broken", "sensing-too-slow", *IN_THE_LAST_LOOP)

WAITS = (1, 2, 5, 20, 100, 500)
"""How many loops may go by between two turns."""

TURNS = 60
"""How many turns and waits one run has at the most."""


class Over(BaseException):
    """Ends the playing at once: hypothesis hands on what is no Exception."""

    def __init__(self, *, found: bool) -> None:
        super().__init__()
        self.found = found


@dataclass(frozen=True)
class Tried:
    """What random testing came to: whether it found what is planted, in what time and runs."""

    found: bool
    seconds: float
    runs: int


def try_at_random(model: Model, planted: Sequence[Expected], seconds: float) -> Tried:
    """Play a prop at random until a run shows what is planted in it, or time is up."""
    wanted = [each for each in planted if each.name in SHOWN_BY_A_RUN]
    began = time.perf_counter()
    machine = _machine(model, wanted, began + seconds)
    found = False
    if wanted:
        try:
            run_state_machine_as_test(machine, settings=_settings())
        except Over as over:
            found = over.found
    return Tried(found, time.perf_counter() - began, machine.runs)


def _settings() -> settings:
    return settings(
        max_examples=1_000_000,
        stateful_step_count=TURNS,
        derandomize=True,
        database=None,
        deadline=None,
        phases=(Phase.generate,),
        report_multiple_bugs=False,
        suppress_health_check=list(HealthCheck),
        verbosity=Verbosity.quiet,
    )


class Machine(RuleBasedStateMachine):
    """One run: what each of its loops was given, and where it has led."""

    model: Model
    wanted: Sequence[Expected]
    until: float
    runs = 0

    def __init__(self) -> None:
        super().__init__()
        type(self).runs += 1
        self.stimuli: list[Stimulus] = []

    @initialize(seed=st.integers(0, 1 << 30), picks=st.lists(st.integers(0, 7), max_size=12))
    def switch_on(self, seed: int, picks: list[int]) -> None:
        self.dice = Random(seed)
        self.raw = [
            item.values[pick % len(item.values)]
            for item, pick in zip(self.model.inputs, [*picks, *[0] * 99], strict=False)
        ]
        self.stands = tuple(
            self.dice.choice(at_power_up(mechanism)) for mechanism in self.model.mechanism
        )
        self.prop: PropState | None = None
        self._go_on()

    @rule(number=st.integers(0, 63), value=st.integers(0, 7))
    def turn(self, number: int, value: int) -> None:
        at = number % len(self.raw)
        values = self.model.inputs[at].values
        self.raw[at] = values[value % len(values)]
        self._go_on()

    @rule(loops=st.sampled_from(WAITS))
    def wait(self, loops: int) -> None:
        for _ in range(loops):
            self._go_on()

    def teardown(self) -> None:
        if self.stimuli and _shows(self.model, Run(tuple(self.stimuli)), self.wanted):
            raise Over(found=True)
        if time.perf_counter() > self.until:
            raise Over(found=False)

    def _go_on(self) -> None:
        """Play one more loop."""
        model, draws = self.model, {}
        if self.prop is not None:
            look = self._look(self.prop, self.stands)
            self.stands = tuple(
                self.dice.choice(list(choose(model, mechanism, stand, look))).stand
                for mechanism, stand in zip(model.mechanism, self.stands, strict=True)
            )
        raw = list(self.raw)
        for mechanism, stand in zip(model.mechanism, self.stands, strict=True):
            for name, value in mechanism.states[stand.state].reads:
                raw[model.input_index[name]] = value
        for region in model.regions:
            for state in region.states:
                for chance in region.chances(state.number):
                    low, high = window_of(model, chance)
                    draws[region.name, chance.number] = self.dice.randint(low, high)
        at = tuple(stand.state for stand in self.stands)
        self.stimuli.append(Stimulus(tuple(raw), at, tuple(sorted(draws.items()))))
        before = self.prop
        self.prop = (
            power_up(model, raw, draws) if before is None else step(model, before, raw, draws)
        )
        look = self._look(self.prop, self.stands)
        self.stands = tuple(
            settle(mechanism, stand, look)
            for mechanism, stand in zip(model.mechanism, self.stands, strict=True)
        )

    def _look(self, prop: PropState, stands: tuple[Stand, ...]) -> Callable[..., bool]:
        return look_back(self.model, prop, tuple(stand.state for stand in stands)).holds


def _machine(model: Model, wanted: Sequence[Expected], until: float) -> type[Machine]:
    return type("Played", (Machine,), {"model": model, "wanted": wanted, "until": until})


def _shows(model: Model, run: Run, wanted: Sequence[Expected]) -> bool:
    views = replay(model, run)
    return any(_shows_one(model, run, views, each) for each in wanted)


def _shows_one(model: Model, run: Run, views: Views, wanted: Expected) -> bool:
    if wanted.name not in IN_THE_LAST_LOOP:
        rules = [each for each in model.rules if wanted.rule in (None, each.name)]
        return any(breaches(model, each.requirement, views, each.scope) for each in rules)
    return any(
        ends_in(model, wanted.name, None, Run(run.stimuli[: after.loop + 1], breach=after.loop))
        for before, after in pairwise(views)
        if has_changed(before, after)
    )
