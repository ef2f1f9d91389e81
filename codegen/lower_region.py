"""One region of the model as its part of the C module: its enum, its switch, its outputs.

Strategy: whatever is looked at first, from every state, is one function of interlocks. A leaf is
a case of the switch; the `leave` of a state with states inside is a function that its leaves end
with. An enumerator stands for a leaf as its cues have left it.
"""

from behaviour.model import Model, Region, Setting, State, Transition
from behaviour.wording import cue_name, full_name
from codegen import module as c
from codegen.conditions import enumerators_in
from codegen.expressions import ALWAYS, Term, all_of
from codegen.lower_enter import (
    Here,
    begin,
    entries,
    has_leaf_timer,
    has_outer_timer,
    redraw,
)
from codegen.lower_ways import chain, cue_branch, said, way_branch
from codegen.vocabulary import Vocabulary


def lower_region(model: Model, names: Vocabulary, region: Region) -> c.Region:
    """Lower one region. It holds every function that might be called; `lower` drops the others."""
    here = Here(model, names, region)
    words = here.words
    all_interlocks = _interlocks(region)
    interlocks = chain([way_branch(here, way) for way in all_interlocks])
    leaf = region.leaf(region.begins)
    return c.Region(
        word=region.name,
        type=_enumeration(here),
        comment=said(f"region {region.name}", region.about, region.span.line),
        member=words.member,
        begins=words.states[leaf].phases[0],
        timer=words.timer if has_leaf_timer(region) else None,
        timers=tuple(
            words.states[state.number].timer for state in region.states if has_outer_timer(state)
        ),
        drawn=tuple(words.drawn.values()),
        predicates=_predicates(here),
        enter=words.enter,
        entries=entries(here),
        interlocks=c.Function(
            words.interlocks,
            f"Look at the interlocks of {region.name}, outermost first, and tell whether one was "
            "taken.",
            chain=interlocks,
        )
        if all_interlocks
        else None,
        leaves=_leaves(here),
        look_function=words.look,
        cases=tuple(
            case for state in region.states if state.begins is None for case in _cases(here, state)
        ),
        drive_function=words.drive,
        rests=_rests(here),
        drives=_drives(here),
        begin=begin(here),
        redraw=redraw(here, _interlocks_around(region, leaf)),
        interlock_acts=any(way.does for way in _interlocks_around(region, leaf)),
        accessor=words.accessor,
    )


def _interlocks(region: Region) -> tuple[Transition, ...]:
    """List the region's interlocks, then those of its states; parents come before children."""
    inner = [way for state in region.states for way in state.interlocks]
    return region.interlocks + tuple(inner)


def _interlocks_around(region: Region, leaf: int) -> tuple[Transition, ...]:
    path = region.path(leaf)
    return tuple(way for way in _interlocks(region) if way.source is None or way.source in path)


def _enumeration(here: Here) -> c.Enumeration:
    found = []
    for state in here.region.states:
        outer = full_name(here.region, state.number).removesuffix(state.name)
        for fired, name in enumerate(here.words.states[state.number].phases):
            found.append(c.Enumerator(name, outer + cue_name(state, fired)))
    return c.Enumeration(
        tag=here.words.tag,
        enumerators=tuple(found),
        comment=said(f"region {here.region.name}", here.region.about, here.region.span.line),
    )


def _predicates(here: Here) -> tuple[c.Predicate, ...]:
    return tuple(
        c.Predicate(
            here.words.states[state.number].is_in,
            f"Tell whether {here.region.name} is in {full_name(here.region, state.number)}.",
            enumerators_in(here.names, here.region, state.number),
        )
        for state in here.region.states
    )


# --- The switch ---------------------------------------------------------------------------------


def _cases(here: Here, state: State) -> list[c.Case]:
    """Give the cases of a leaf: one, or one for each cue where nothing but cues is waited for."""
    labels = here.words.states[state.number].phases
    comment = _state_words(here, state)
    cues = [cue_branch(here, state, fired) for fired in range(len(labels))]
    if state.leave or len(labels) == 1:
        own = [way_branch(here, way) for way in state.leave]
        own += [
            _in_phase(here, label, cue) if len(labels) > 1 else cue
            for label, cue in zip(labels, cues, strict=True)
            if cue is not None
        ]
        return [c.Case(labels, comment, _then_outer(here, state, chain(own)))]
    return [
        c.Case(
            (label,),
            (cue_name(state, fired),) if fired else comment,
            _then_outer(here, state, chain([] if cue is None else [cue])),
        )
        for fired, (label, cue) in enumerate(zip(labels, cues, strict=True))
    ]


def _in_phase(here: Here, label: str, cue: c.Branch) -> c.Branch:
    is_here = Term(f"{here.spelling.state(here.words.member, own=True)} == {label}")
    return c.Branch(all_of([is_here, cue.when]), cue.comment, cue.body)


def _then_outer(here: Here, state: State, own: c.Chain) -> c.Chain:
    """Let a chain end with what leaves the states around, unless it always takes something."""
    if own.branches and own.branches[-1].when == ALWAYS:
        return own
    for number in reversed(here.region.path(state.number)[:-1]):
        outer = _leave(here, here.region.states[number])
        if not outer.chain.is_empty:
            call = here.spelling.look_outside(outer.name, sees=outer.sees)
            return c.Chain(branches=own.branches, otherwise=call, left_out=own.left_out)
    return own


def _leave(here: Here, state: State) -> c.Function:
    own = chain([way_branch(here, way) for way in state.leave])
    return c.Function(
        here.words.states[state.number].leave,
        f"Look at what leaves {full_name(here.region, state.number)}, after what leaves the states "
        "inside it.",
        chain=_then_outer(here, state, own) if own.branches else own,
    )


def _leaves(here: Here) -> tuple[c.Function, ...]:
    """Give the `leave` functions of states with states inside, outermost first."""
    return tuple(_leave(here, state) for state in here.region.states if state.begins is not None)


def _state_words(here: Here, state: State) -> tuple[str, ...]:
    words = said(full_name(here.region, state.number), state.about, state.span.line)
    if state.lockout:
        words += ("Lockout: only power off and on leaves it.",)
    if state.operator:
        words += (f"Operator: {state.operator}",)
    return words


# --- Outputs ------------------------------------------------------------------------------------


def _owned(here: Here) -> list[str]:
    owner = here.model.owner
    return [item.name for item in here.model.outputs if owner.get(item.name) == here.region.name]


def _rests(here: Here) -> tuple[tuple[str, str], ...]:
    """Pair each output that the region owns and that keeps nothing with its rest."""
    found = []
    for name in _owned(here):
        output, words = here.model.output[name], here.names.outputs[name]
        if not output.keeps:
            found.append((words.member, words.values[output.rest]))
    return tuple(found)


def _drives(here: Here) -> tuple[c.Drive, ...]:
    found = []
    for state in here.region.states:
        for fired, label in enumerate(here.words.states[state.number].phases):
            sets = _sets(here.region, state, fired)
            lines = []
            for name in _owned(here):
                if name in sets:
                    words, (setting, place) = here.names.outputs[name], sets[name]
                    value = words.values[setting.value]
                    if setting.move is not None and words.move is not None:
                        rest = words.values[here.model.output[name].rest]
                        done = here.spelling.own(words.move.done)
                        value = here.spelling.chosen(done, rest, value)
                    lines.append((words.member, value, place))
            found.append(c.Drive(label, tuple(lines)))
    return tuple(found)


def _sets(region: Region, state: State, fired: int) -> dict[str, tuple[Setting, str]]:
    """Map each output that a leaf sets to what sets it last, and to where else that stands."""
    found: dict[str, tuple[Setting, str]] = {}
    for number in region.path(state.number):
        place = "" if number == state.number else full_name(region, number)
        found.update({s.output: (s, place) for s in region.states[number].sets})
    for cue in state.cues[:fired]:
        found.update({setting.output: (setting, "") for setting in cue.sets})
    return found
