"""What everything in a model is called in code. It chooses names and looks at nothing else."""

from dataclasses import dataclass

from behaviour.controllers import NAMES as CONTROLLERS
from behaviour.counted import held_conditions
from behaviour.model import (
    Model,
    Region,
    Setting,
    State,
    Time,
    Transition,
    Unknown,
)
from behaviour.wording import full_name, setting_words
from codegen.names import Names, joined, shouted
from codegen.spelling import IN_C, Spelling

FIXED_CAPITALS = ("LOOPS", "FOREVER")
CALLS = (
    "power_up",
    "step",
    "trace",
    "seen",
    "board_begin",
    "board_random",
    "board_write",
    "board_goes_on",
    "board_now_ms",
    "board_serve",
    "board_begin_watchdog",
    "board_feed_watchdog",
)
MACROS = (
    "H",
    "BOARD_H",
    "SETTINGS_H",
    "FINGERPRINT",
    "LOOP_MS",
    "PULL_UP",
    "PULL_DOWN",
    "PULL_NONE",
    "BOARD_FILE",
    "LOOP_FILE",
    *(f"BOARD_FOR_{name.upper()}" for name in CONTROLLERS),
)


@dataclass(frozen=True, slots=True)
class TimeName:
    """A macro for a time of the file."""

    name: str
    time: Time
    line: int
    comment: str


@dataclass(frozen=True, slots=True)
class StepsName:
    """A macro for the steps of a move."""

    name: str
    steps: int
    line: int
    comment: str


@dataclass(frozen=True, slots=True)
class InputNames:
    tag: str
    values: dict[str, str]
    member: str
    raw: str
    raw_for: str
    since: str
    changed: str
    steady_function: str
    read_function: str
    board_read: str
    steady: dict[str, str]


@dataclass(frozen=True, slots=True)
class MoveNames:
    """What a motor needs that is moved by distance."""

    done: str
    steps: str
    function: str
    board_move: str
    board_done: str


@dataclass(frozen=True, slots=True)
class OutputNames:
    tag: str
    values: dict[str, str]
    member: str
    board_drive: str
    accessor: str
    move: MoveNames | None


@dataclass(frozen=True, slots=True)
class StateNames:
    """`phases` are the enumerators of a leaf: the state itself, then as each cue leaves it."""

    phases: tuple[str, ...]
    is_in: str
    enter: str
    leave: str
    timer: str
    cues: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RegionNames:
    tag: str
    member: str
    timer: str
    enter: str
    interlocks: str
    look: str
    drive: str
    accessor: str
    states: tuple[StateNames, ...]
    after: dict[int, tuple[str, str]]
    drawn: dict[int, str]
    steps: dict[int, str]


HeldKey = tuple[str, int | None, str, str, Time]
"""Where an `is V for D` stands (region, state), and what it says (input, value, time)."""


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """Every name. `times` and `steps` list the macros of both in the order of the file's parts."""

    prefix: str
    upper: str
    inputs: dict[str, InputNames]
    outputs: dict[str, OutputNames]
    counters: dict[str, str]
    regions: dict[str, RegionNames]
    held: dict[HeldKey, str]
    times: tuple[TimeName, ...]
    steps: tuple[StepsName, ...]
    names: Names
    spelling: Spelling


def vocabulary(model: Model, prefix: str, spelling: Spelling = IN_C) -> Vocabulary:
    """Choose all names; the same model and prefix give the same ones."""
    prefix = spelling.prefix(prefix)
    chooser = _Chooser(model, prefix, spelling)
    inputs = {item.name: chooser.input(item.name) for item in model.inputs}
    outputs = {item.name: chooser.output(item.name) for item in model.outputs}
    counters = {item.name: chooser.member(item.name) for item in model.counters}
    held: dict[HeldKey, str] = {}
    regions = {region.name: chooser.region(region, held) for region in model.regions}
    return Vocabulary(
        prefix=prefix,
        upper=prefix.upper(),
        inputs=inputs,
        outputs=outputs,
        counters=counters,
        regions=regions,
        held=held,
        times=tuple(chooser.times),
        steps=tuple(chooser.steps),
        names=chooser.names,
        spelling=spelling,
    )


def motors_moved(model: Model) -> frozenset[str]:
    """Name the motors that some state moves by distance."""
    states = (state for region in model.regions for state in region.states)
    return frozenset(s.output for state in states for s in state.sets if s.move is not None)


def phases(state: State) -> int:
    """Count how far the cues of a leaf can get: itself, and after each cue that does not end it."""
    is_left = state.end is not None and state.end.target is not None
    return len(state.cues) + (0 if is_left else 1)


class _Chooser:
    def __init__(self, model: Model, prefix: str, spelling: Spelling) -> None:
        self._model = model
        self._prefix = prefix
        self._spelling = spelling
        upper = prefix.upper()
        fixed = {prefix, *spelling.names, *FIXED_CAPITALS}
        fixed |= {f"{prefix}_{call}" for call in CALLS} | {f"{upper}_{name}" for name in MACROS}
        self.names = Names(fixed)
        macros = {*FIXED_CAPITALS, *(f"{upper}_{name}" for name in MACROS)}
        self.tags = Names({prefix, f"{prefix}_seen"} | macros)
        self.members = Names({"last_ms", "upsets"} | spelling.members | macros)
        self.times: list[TimeName] = []
        self.steps: list[StepsName] = []

    def member(self, name: str) -> str:
        """Name a member as the file does; one of capitals alone might be a macro of a chip."""
        return self.members.take(f"{name}_" if name.isupper() else name)

    def input(self, name: str) -> InputNames:
        item = self._model.input[name]
        values = self._values(name, item.values)
        steady: dict[str, str] = {}
        is_one_for_all = len(set(item.steady)) == 1
        for value, time in zip(item.values, item.steady, strict=True):
            if time == 0:
                continue
            if is_one_for_all and steady:
                steady[value] = next(iter(steady.values()))
                continue
            which = "" if is_one_for_all else value
            what = f"steady of {name}, {value}" if which else f"steady of {name}"
            steady[value] = self._time((name, "steady", which), time, item.span.line, what)
        return InputNames(
            tag=self.tags.take(joined(self._prefix, name)),
            values=values,
            member=self.member(name),
            raw=self.members.take(f"{name}_raw"),
            raw_for=self.members.take(f"{name}_raw_for"),
            since=self.members.take(f"{name}_for"),
            changed=self.members.take(f"{name}_changed"),
            steady_function=self.names.take(f"steady_{name}"),
            read_function=self.names.take(f"read_{name}"),
            board_read=self.names.take(f"{self._prefix}_board_read_{name}"),
            steady=steady,
        )

    def output(self, name: str) -> OutputNames:
        item = self._model.output[name]
        return OutputNames(
            tag=self.tags.take(joined(self._prefix, name)),
            values=self._values(name, item.values),
            member=self.member(name),
            board_drive=self.names.take(f"{self._prefix}_board_drive_{name}"),
            accessor=self.names.take(f"{self._prefix}_output_{name}"),
            move=self._move(name) if name in motors_moved(self._model) else None,
        )

    def _values(self, name: str, values: tuple[str, ...]) -> dict[str, str]:
        taken = {value: self.names.take(shouted(self._prefix, name, value)) for value in values}
        return {v: self._spelling.value(enumerator, v) for v, enumerator in taken.items()}

    def _move(self, name: str) -> MoveNames:
        return MoveNames(
            done=self.members.take(f"{name}_done"),
            steps=self.members.take(f"{name}_steps"),
            function=self.names.take(f"is_moved_{name}"),
            board_move=self.names.take(f"{self._prefix}_board_move_{name}"),
            board_done=self.names.take(f"{self._prefix}_board_is_done_{name}"),
        )

    def region(self, region: Region, held: dict[HeldKey, str]) -> RegionNames:
        said = _unless_said(self._prefix, region.name)
        after: dict[int, tuple[str, str]] = {}
        drawn: dict[int, str] = {}
        steps: dict[int, str] = {}
        member = self.member(region.name)
        timer = self.members.take(f"{region.name}_for")
        states: list[StateNames] = []
        self._held(region, None, region.interlocks, held)
        for state in region.states:
            self._held(region, state, state.interlocks, held)
            for way in state.leave:
                self._held(region, state, (way,), held)
                if way.after is None:
                    continue
                after[way.number] = self._after(region, said, state, way)
                if way.after.low != way.after.high:
                    drawn[way.number] = self.members.take(f"{state.name}_drawn")
            for setting in state.sets:
                if setting.move is not None:
                    steps[setting.move.number] = self._steps(region, said, state, setting)
            states.append(self._state(region, said, state))
        return RegionNames(
            tag=self.tags.take(joined(self._prefix, said, "state")),
            member=member,
            timer=timer,
            enter=self.names.take(f"enter_{region.name}"),
            interlocks=self.names.take(f"interlocks_of_{region.name}"),
            look=self.names.take(f"look_at_{region.name}"),
            drive=self.names.take(f"drive_{region.name}"),
            accessor=self.names.take(joined(self._prefix, "state", said)),
            states=tuple(states),
            after=after,
            drawn=drawn,
            steps=steps,
        )

    def _state(self, region: Region, said: str, state: State) -> StateNames:
        within = (region.name, state.name)
        around = tuple(region.states[number] for number in region.path(state.number)[:-1])
        enumerators = tuple(
            self._spelling.place(
                self.names.take(
                    shouted(self._prefix, said or "state", state.name, _moment(state, at))
                ),
                around,
                state,
                at,
            )
            for at in range(phases(state) if state.begins is None else 0)
        )
        return StateNames(
            phases=enumerators,
            is_in=self.names.take(joined("in", *within)),
            enter=self.names.take(joined("enter", *within)),
            leave=self.names.take(joined("leave", *within)),
            timer=self.members.take(f"{state.name}_for"),
            cues=tuple(
                self._time(
                    (said, state.name, f"cue_{number}"),
                    cue.at,
                    cue.span.line,
                    f"{full_name(region, state.number)}, moment {number}",
                )
                for number, cue in enumerate(state.cues, 1)
            ),
        )

    def _after(self, region: Region, said: str, state: State, way: Transition) -> tuple[str, str]:
        assert way.after is not None  # noqa: S101
        line = way.after.span.line or way.span.line
        place, low, high = (said, state.name, "after"), way.after.low, way.after.high
        target = "stays" if way.target is None else ""
        if isinstance(way.target, int):
            target = f"goes to {full_name(region, way.target)}"
        what = f"{full_name(region, state.number)} {target} after"
        if low == high:
            one = self._time(place, low, line, what)
            return one, one
        least = self._time((*place, "at_least"), low, line, f"{what} a random time from")
        most = self._time((*place, "at_most"), high, line, f"{what} a random time up to")
        return least, most

    def _steps(self, region: Region, said: str, state: State, setting: Setting) -> str:
        assert setting.move is not None  # noqa: S101
        name = self.names.take(shouted(self._prefix, said, state.name, setting.output), "_STEPS")
        what = f"{full_name(region, state.number)}: {setting_words(setting)}, in steps"
        self.steps.append(StepsName(name, setting.move.steps, setting.span.line, what))
        return name

    def _held(
        self,
        region: Region,
        state: State | None,
        ways: tuple[Transition, ...],
        held: dict[HeldKey, str],
    ) -> None:
        place = None if state is None else state.number
        where = region.name if state is None else full_name(region, state.number)
        for way in ways:
            for part in held_conditions(way.when):
                key = (region.name, place, part.name, part.value, part.time)
                if key in held:
                    continue
                name = (
                    _unless_said(self._prefix, region.name),
                    "" if state is None else state.name,
                    part.name,
                    part.value,
                    "for",
                )
                what = f"{where}: {part.name} is {part.value} for"
                line = part.span.line or way.span.line
                held[key] = self._time(name, part.time, line, what)

    def _time(self, parts: tuple[str, ...], time: Time, line: int, comment: str) -> str:
        name = self.names.take(shouted(self._prefix, *parts), "_MS")
        self.times.append(TimeName(name, time, line, comment))
        return name


def _unless_said(prefix: str, region: str) -> str:
    """Leave a region's name out where the prefix ends with it already."""
    is_said = f"_{prefix}".lower().endswith(f"_{region}".lower())
    return "" if is_said else region


def _moment(state: State, fired: int) -> str:
    """Name what a leaf's cues have made of it: `at_100_ms`; nothing before the first."""
    if not fired:
        return ""
    time = state.cues[fired - 1].at
    if isinstance(time, Unknown):
        return f"cue_{fired}"
    if time % 1000:
        return f"at_{time}_us"
    return f"at_{time // 1000}_ms"
