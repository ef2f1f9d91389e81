"""The model of one prop, whole."""

from dataclasses import dataclass, field, fields
from functools import cached_property
from types import MappingProxyType
from typing import Any

from behaviour.model.drives import Drive, Power
from behaviour.model.mechanisms import Mechanism
from behaviour.model.parts import (
    Counter,
    Input,
    Output,
)
from behaviour.model.quantities import Micros, Time, Unknown
from behaviour.model.regions import (
    Region,
)
from behaviour.model.rules import (
    Excuse,
    Rule,
)
from behaviour.model.walkthroughs import Walkthrough
from behaviour.source import NOWHERE, Span


@dataclass(frozen=True, slots=True, kw_only=True)
class NamedSetting:
    """A value of `settings`; `uses` counts the places that name it, `at` is where its text is."""

    name: str
    text: str
    uses: int
    span: Span = field(default=NOWHERE, compare=False)
    at: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, kw_only=True)
class Model:
    """One prop, whole. Tuples keep the order of the file."""

    prop: str
    loop: Micros
    regions: tuple[Region, ...]
    inputs: tuple[Input, ...] = ()
    outputs: tuple[Output, ...] = ()
    counters: tuple[Counter, ...] = ()
    mechanism: tuple[Mechanism, ...] = ()
    rules: tuple[Rule, ...] = ()
    walkthroughs: tuple[Walkthrough, ...] = ()
    excused: tuple[Excuse, ...] = ()
    settings: tuple[NamedSetting, ...] = ()
    drives: tuple[Drive, ...] = ()
    power: Power | None = None
    reaction: Time | None = None
    controller: str | None = None
    firmware_name: str = ""
    watchdog: Time | None = None
    boot: Time | None = None
    about: str = ""
    show: tuple[tuple[str, str], ...] = ()
    unknowns: tuple[Unknown, ...] = ()
    """Every `unknown` of the file, in its order."""

    def __getstate__(self) -> dict[str, object]:
        """Give what a model is, without what was worked out from it, to be sent or kept."""
        return {each.name: getattr(self, each.name) for each in fields(self)}

    @cached_property
    def input(self) -> MappingProxyType[str, Input]:
        return MappingProxyType({item.name: item for item in self.inputs})

    @cached_property
    def output(self) -> MappingProxyType[str, Output]:
        return MappingProxyType({item.name: item for item in self.outputs})

    @cached_property
    def counter(self) -> MappingProxyType[str, Counter]:
        return MappingProxyType({item.name: item for item in self.counters})

    @cached_property
    def region(self) -> MappingProxyType[str, Region]:
        return MappingProxyType({item.name: item for item in self.regions})

    @cached_property
    def mechanisms(self) -> MappingProxyType[str, Mechanism]:
        return MappingProxyType({item.name: item for item in self.mechanism})

    @cached_property
    def input_index(self) -> MappingProxyType[str, int]:
        return MappingProxyType({item.name: at for at, item in enumerate(self.inputs)})

    @cached_property
    def output_index(self) -> MappingProxyType[str, int]:
        return MappingProxyType({item.name: at for at, item in enumerate(self.outputs)})

    @cached_property
    def counter_index(self) -> MappingProxyType[str, int]:
        return MappingProxyType({item.name: at for at, item in enumerate(self.counters)})

    @cached_property
    def region_index(self) -> MappingProxyType[str, int]:
        return MappingProxyType({item.name: at for at, item in enumerate(self.regions)})

    @cached_property
    def mechanism_index(self) -> MappingProxyType[str, int]:
        return MappingProxyType({item.name: at for at, item in enumerate(self.mechanism)})

    @cached_property
    def written_mechanism(self) -> tuple[Mechanism, ...]:
        """The mechanism regions that stand in the file: those that can fail, and are drawn."""
        return tuple(item for item in self.mechanism if not item.motion_of)

    @cached_property
    def moved(self) -> frozenset[str]:
        """Name the inputs that a mechanism moves: those that one of its states reads."""
        return frozenset(
            name for each in self.mechanism for state in each.states for name, _ in state.reads
        )

    @cached_property
    def owner(self) -> MappingProxyType[str, str]:
        """Map each output that a region sets to the name of that region."""
        owners: dict[str, str] = {}
        for region in self.regions:
            for state in region.states:
                for setting in state.sets:
                    owners[setting.output] = region.name
                for cue in state.cues:
                    owners.update({setting.output: region.name for setting in cue.sets})
        return MappingProxyType(owners)

    @cached_property
    def worked_out(self) -> dict[tuple[object, ...], Any]:
        """What was worked out from the model alone, kept so that it is done once."""
        return {}

    def loops_up(self, time: Micros) -> int:
        """Count a duration in loops, rounded up (`semantics.md`, Time)."""
        return -(-time // self.loop)

    def loops_down(self, time: Micros) -> int:
        """Count a duration in loops, rounded down: the early end of a window."""
        return time // self.loop
