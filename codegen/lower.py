"""From the model to the module in code: names chosen, conditions built, unused helpers dropped."""

from collections.abc import Iterable
from dataclasses import replace

from behaviour import model as m
from behaviour.controllers import controller as look_up
from behaviour.fingerprint import fingerprint
from behaviour.source import Span
from behaviour.wording import duration
from codegen import module as c
from codegen.conditions import Place, in_state
from codegen.expressions import any_of, written
from codegen.lower_board import board, marks
from codegen.lower_region import lower_region
from codegen.lower_wiring import wiring
from codegen.refusals import MILLISECOND, refuse_if_needed
from codegen.spelling import IN_C, Spelling
from codegen.vocabulary import TimeName, Vocabulary, vocabulary


def lower(
    model: m.Model,
    source_name: str,
    prefix: str,
    controller: str = "host",
    spelling: Spelling = IN_C,
) -> c.Module:
    """Lower a model, in the words of a language.

    Raises CannotEmitError where it cannot become code for the controller.
    """
    target = look_up(controller)
    refuse_if_needed(model, prefix, controller)
    names = vocabulary(model, prefix, spelling)
    regions = tuple(_only_called(lower_region(model, names, region)) for region in model.regions)
    moving = [_moved(model, names, item.name) for item in model.outputs]
    tests = [written(each.states) for each in moving if each is not None]
    fragments = [text for region in regions for text in _all_fragments(region)]
    mentioned = c.identifiers([*fragments, *tests])
    wired = wiring(model, names, target)
    made = board(model, names, wired, target)
    return c.Module(
        prefix=prefix,
        upper=names.upper,
        fingerprint=fingerprint(model),
        source_name=source_name,
        prop=model.prop,
        about=model.about,
        loop_ms=model.loop // MILLISECOND,
        inputs=tuple(_input(item, names, mentioned) for item in model.inputs),
        outputs=tuple(_output(model, item, names) for item in model.outputs),
        counters=tuple(_counter(item, names) for item in model.counters),
        regions=tuple(_only_asked(region, mentioned) for region in regions),
        times=tuple(_time(spelling, time) for time in names.times),
        steps=tuple(
            c.Define(
                each.name,
                spelling.number(each.steps),
                f"{each.line}: {each.comment}",
                each.comment,
            )
            for each in names.steps
        ),
        wiring=wired.defines,
        controller=target.name,
        board=made,
        marks=marks(model, names, made),
        seen=_seen(model, names, regions),
        draws_random=any(region.drawn for region in regions),
    )


def _only_called(region: c.Region) -> c.Region:
    """Drop the functions of a region that nothing calls."""
    interlocks = region.interlocks
    if interlocks is not None and not interlocks.chain.branches:
        interlocks = None
    fragments = [text for case in region.cases for text in case.chain.fragments()]
    fragments += [] if interlocks is None else interlocks.fragments()
    functions = (*region.leaves, *region.entries)
    called = c.identifiers(fragments)
    while True:
        inner = [text for f in functions if f.name in called for text in f.fragments()]
        more = c.identifiers([*fragments, *inner])
        if more == called:
            break
        called = more
    return replace(
        region,
        interlocks=interlocks,
        redraw=region.redraw if interlocks is not None else (),
        leaves=tuple(function for function in region.leaves if function.name in called),
        entries=tuple(function for function in region.entries if function.name in called),
        enter=region.enter if region.enter in called else None,
    )


def _only_asked(region: c.Region, mentioned: frozenset[str]) -> c.Region:
    """Drop the predicates of a region that no region asks."""
    asked = tuple(predicate for predicate in region.predicates if predicate.name in mentioned)
    return replace(region, predicates=asked)


def _all_fragments(region: c.Region) -> Iterable[str]:
    for case in region.cases:
        yield from case.chain.fragments()
    for function in (*region.leaves, *region.entries):
        yield from function.fragments()
    if region.interlocks is not None:
        yield from region.interlocks.fragments()
    for branch in region.redraw:
        yield from branch.fragments()


def _seen(
    model: m.Model, names: Vocabulary, regions: tuple[c.Region, ...]
) -> tuple[tuple[str, str], ...]:
    """List what regions see of each other: members read through `seen`."""
    text = "\n".join(text for region in regions for text in _all_fragments(region))
    read = names.spelling.members_seen(text)
    members = [(region.type.type, region.member) for region in regions]
    members += [("int32_t", names.counters[counter.name]) for counter in model.counters]
    return tuple((kind, member) for kind, member in members if member in read)


def _input(item: m.Input, names: Vocabulary, mentioned: frozenset[str]) -> c.Input:
    words, spelling = names.inputs[item.name], names.spelling
    steady = tuple(
        (words.values[value], spelling.loops(macro)) for value, macro in words.steady.items()
    )
    presumed = None
    if item.presumed is not None and item.safe in words.steady:
        presumed = (words.values[item.safe], words.values[item.presumed])
    role = "" if item.role is None else f", {item.role.value.replace('_', ' ')}"
    safe = "" if item.safe is None else f", safe: {item.safe}"
    return c.Input(
        word=item.name,
        type=c.Enumeration(
            tag=words.tag,
            enumerators=tuple(c.Enumerator(words.values[v], v) for v in item.values),
            comment=_placed(f"input {item.name}: {item.kind}{role}{safe}", item.about, item.span),
        ),
        comment=item.name,
        member=words.member,
        raw=words.raw if steady else None,
        raw_for=words.raw_for if steady else None,
        since=words.since if words.since in mentioned else None,
        changed=words.changed if words.changed in mentioned else None,
        steady=steady,
        presumed=presumed,
        steady_function=words.steady_function,
        read_function=words.read_function,
        board_read=words.board_read,
        first=words.values[item.safe if item.safe in item.values else item.values[0]],
    )


def _moved(model: m.Model, names: Vocabulary, motor: str) -> c.Moved | None:
    words = names.outputs[motor].move
    if words is None:
        return None
    region = model.region[model.owner[motor]]
    place = Place(region.name, None)
    moving = [
        in_state(names, place, region, state.number)
        for state in region.states
        if any(setting.output == motor and setting.move for setting in state.sets)
    ]
    return c.Moved(
        done=words.done,
        steps=words.steps,
        function=words.function,
        board_move=words.board_move,
        board_done=words.board_done,
        states=any_of(moving),
    )


def _output(model: m.Model, item: m.Output, names: Vocabulary) -> c.Output:
    words = names.outputs[item.name]
    notes = ["hazard"] if item.hazard else []
    notes += ["keeps its last value"] if item.keeps else []
    more = "".join(f", {note}" for note in notes)
    what = f"output {item.name}: {item.kind}{more}, rest: {item.rest}"
    return c.Output(
        word=item.name,
        type=c.Enumeration(
            tag=words.tag,
            enumerators=tuple(c.Enumerator(words.values[v], v) for v in item.values),
            comment=_placed(what, item.about, item.span),
        ),
        comment=what,
        member=words.member,
        rest=words.values[item.rest],
        keeps=item.keeps,
        board_drive=words.board_drive,
        accessor=words.accessor,
        moved=_moved(model, names, item.name),
    )


def _counter(item: m.Counter, names: Vocabulary) -> c.Counter:
    return c.Counter(
        word=item.name,
        member=names.counters[item.name],
        comment=f"counter {item.name}: {item.low} to {item.high}",
        begins=item.begins,
        is_ever_negative=item.low < 0,
    )


def _time(spelling: Spelling, time: TimeName) -> c.Define:
    if isinstance(time.time, m.Unknown):
        raise TypeError(f"`{time.time.what}` is not known")
    whole = -(-time.time // MILLISECOND)
    line = f"{time.line}: " if time.line else ""
    exact = "" if time.time % MILLISECOND == 0 else f", rounded up from {duration(time.time)}"
    words = f"{line}{time.comment}{exact}"
    return c.Define(time.name, spelling.number(whole), words, time.comment)


def _placed(words: str, about: str, span: Span) -> tuple[str, ...]:
    first = f"{span.line}: {words}" if span.line else words
    return (first, about) if about else (first,)
