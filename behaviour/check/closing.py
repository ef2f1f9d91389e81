"""The last line of a finding's story: what is wrong at its end, from the run and what is asked.

It plays the run again and searches nothing.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from behaviour.check.claims import (
    cut_short,
    goes_round,
    moves_untouched,
    reversals,
    stays_away,
    taken_beyond,
)
from behaviour.check.judging import Breach, Sights, broken_at
from behaviour.findings import Finding, Run
from behaviour.model import (
    Always,
    AtLeast,
    AtMost,
    Becomes,
    Count,
    First,
    Micros,
    Model,
    Never,
    Rate,
    Region,
    Requirement,
    Role,
    Time,
    Transition,
    WayBack,
    Whenever,
)
from behaviour.story import LoopView, replay
from behaviour.wording import after_words, condition_words, duration, time_words, times

SELF = {
    "restarts-by-itself": "nothing but the interlock's condition has changed since it stopped",
    "guard-closing-starts": "nobody has done anything but close the guard",
    "reset-restarts": "nobody has done anything but that",
    "mode-starts": "nobody has done anything but turn the selector",
    "held-start-counts": "it would rest with the start that was held released",
    "runs-unheld": "the button is let go",
}

PLAIN = {
    "reset-on-press": "this is done while the reset is pressed, and a stuck one does it too",
    "slow-stop-filter": "only now is it known, later than `reaction` allows",
}


def with_last_line(model: Model, finding: Finding) -> Finding:
    """Give a finding whose run says at its end what is wrong there, where that can be said.

    What is never reached but by a stall has nothing wrong at its end: its run is left as it is.
    """
    if finding.run is None or finding.kind.name in ("never-reached", "never-taken"):
        return finding
    views = replay(model, finding.run)
    words = tuple(last_words(model, finding, views))
    if not words:
        return finding
    said = tuple((views[-1].loop, line) for line in words)
    return replace(finding, run=replace(finding.run, says=finding.run.says + said))


def last_words(model: Model, finding: Finding, views: Sequence[LoopView]) -> Iterator[str]:
    """Say what is wrong at the end of a finding's run."""
    if finding.rule is not None:
        yield from _of_rule(model, finding.rule, finding.run, views)
        return
    region = None if finding.place is None else model.region.get(finding.place[0])
    match finding.kind.name:
        case "runaway" | "self-running":
            yield from _standing_still(model, finding, region)
        case "moves-at-power-up" | "reverses-at-once" | "out-of-range":
            yield from _in_the_last_loop(model, finding, region, views)
        case name if name in (*SELF, "guard-open-moves", "stop-is-beaten", "starts-unasked"):
            yield from _of_hazards(model, finding, region, views[-1])
        case "reset-on-press" | "slow-stop-filter":
            yield PLAIN[finding.kind.name]
        case "dead-end" if finding.place is not None:
            name, state = finding.place
            yield f"from here on `{name}` never leaves `{state}`, whatever is done"
        case "no-way-back" if region is not None:
            home = region.states[region.begins].name
            yield f"from here `{region.name}` can never come back to `{home}`, whatever is done"
        case "too-quick":
            for output, was, loops in cut_short(model, views):
                least = time_words(output.least or 0)
                lasted = duration(loops * model.loop)
                yield f"`{output.name}` was {was} for {lasted}; {least} is the least"
        case "blink-missed" if finding.place is not None:
            name, state = finding.place
            yield f"`{name}` has passed `{state}` since the loop before, and nobody has seen it"
        case "order-matters" | "false-jam" | "deaf" if region is not None:
            yield from _waiting(model, finding, region, views)
        case _:
            return


# --- Rules --------------------------------------------------------------------------------------


def _of_rule(model: Model, name: str, run: Run | None, views: Sequence[LoopView]) -> Iterator[str]:
    rule = next(rule for rule in model.rules if rule.name == name)
    match rule.requirement:
        case WayBack(condition=condition):
            yield f"from here `{condition_words(model, condition)}` cannot come about any more"
        case Whenever(trigger=trigger, response=response, limit=None):
            asked, answer = condition_words(model, trigger), condition_words(model, response)
            yield f"`{asked}` has come, and in all that goes on from here `{answer}` never does"
        case requirement:
            breach = None if run is None else broken_at(model, rule, run, views)
            if breach is not None:
                yield breach_words(model, requirement, breach)


def breach_words(  # noqa: PLR0911
    model: Model, requirement: Requirement, breach: Breach
) -> str:
    """Say how a requirement is broken: for how long, how much of it is sensing, what is allowed."""
    lasted = duration(breach.lasted * model.loop)
    sensing = f", {duration(breach.sensing * model.loop)} of it sensing" if breach.sensing else ""
    match requirement:
        case Never(condition=condition, limit=None):
            return f"`{condition_words(model, condition)}` holds: it never may"
        case Always(condition=condition):
            return f"`{condition_words(model, condition)}` does not hold: it always must"
        case AtLeast(condition=condition, limit=limit):
            words = condition_words(model, condition)
            least = _in_loops(model, limit, breach.allowed)
            return f"`{words}` has ended after {lasted}; {least} is the least"
        case First(condition=condition, before=before):
            first, second = condition_words(model, condition), condition_words(model, before)
            return f"`{second}` holds, and `{first}` has not been yet"
        case Count(condition=condition, most=most):
            words = condition_words(model, condition)
            return f"`{words}` begins {times(breach.lasted)}; {most} at most"
        case Rate(condition=condition, most=most, limit=limit):
            words = condition_words(model, condition)
            apart = _in_loops(model, limit, breach.allowed)
            return f"`{words}` begins {times(most + 1)} within {lasted}; {most} at most per {apart}"
        case Whenever(trigger=trigger, response=response, limit=limit):
            asked, answer = condition_words(model, trigger), condition_words(model, response)
            allowed = _allowed(model, limit, breach.allowed)
            if breach.too_slow:
                return f"`{asked}` is known only {lasted} after it came about; {allowed} for that"
            return f"no answer `{answer}` for {lasted} since `{asked}`{sensing}; {allowed}"
        case Never(condition=condition, limit=limit) | AtMost(condition=condition, limit=limit):
            words = condition_words(model, condition)
            allowed = _allowed(model, limit, breach.allowed)
            if breach.too_slow:
                return f"`{words}` had held for {lasted} before that could be known; {allowed}"
            return f"`{words}` has now held for {lasted}{sensing}; {allowed}"
        case WayBack(condition=condition):
            return f"`{condition_words(model, condition)}` is out of reach"


def _in_loops(model: Model, limit: Time, loops: int) -> str:
    """Write a time as the file has it, and in whole loops where that is more."""
    counted: Micros = loops * model.loop
    more = "" if limit == counted else f" ({duration(counted)} in whole loops)"
    return f"{time_words(limit)}{more}"


def _allowed(model: Model, limit: Time | None, loops: int) -> str:
    """Say what a rule allows, as the file has it, and in whole loops where that is more."""
    counted: Micros = loops * model.loop
    words = duration(counted) if limit is None else time_words(limit)
    verb = "is" if words.startswith("1 ") else "are"
    exactly = "" if limit is None or limit == counted else f" ({duration(counted)} in whole loops)"
    return f"{words} {verb} allowed{exactly}"


# --- What the last loop does --------------------------------------------------------------------


def _in_the_last_loop(
    model: Model, finding: Finding, region: Region | None, views: Sequence[LoopView]
) -> Iterator[str]:
    match finding.kind.name:
        case "moves-at-power-up":
            for output in moves_untouched(model, views):
                if _is_of(model, region, output.name):
                    value = views[-1].state.outputs[model.output_index[output.name]]
                    yield f"`{output.name}` is `{value}`, and nobody has done anything yet"
        case "reverses-at-once":
            for output, rested, pause in reversals(model, views):
                if _is_of(model, region, output.name):
                    yield (
                        f"`{output.name}` has rested for {duration(rested * model.loop)} of the "
                        f"{duration(pause * model.loop)} of its pause"
                    )
        case "out-of-range":
            for counter, wanted in taken_beyond(model, views):
                bound = counter.high if wanted > counter.high else counter.low
                yield f"`{counter.name}` would become {wanted}; its bound is {bound}"
        case _:
            return


def _of_hazards(
    model: Model, finding: Finding, region: Region | None, last: LoopView
) -> Iterator[str]:
    """Say how each hazard of the region stands that is away from rest, and what is not safe."""
    role = {"guard-open-moves": Role.GUARD, "stop-is-beaten": Role.STOP}.get(finding.kind.name)
    unsafe = [
        f"`{item.name}` is `{state.steady}`"
        for item, state in zip(model.inputs, last.state.inputs, strict=True)
        if role is not None and item.role is role and state.steady != item.safe
    ]
    away = [
        (output, value)
        for output, value in zip(model.outputs, last.real, strict=True)
        if output.hazard and value != output.rest and _is_of(model, region, output.name)
    ]
    if not away and unsafe:
        yield f"only now is it known that {', '.join(unsafe)}, and it ought to have rested before"
    for output, value in away:
        if finding.kind.name == "starts-unasked":
            yield f"`{output.name}` is `{value}`, and no press that still counts asked for it"
        elif role is None:
            yield f"`{output.name}` is `{value}`: {SELF[finding.kind.name]}"
        elif unsafe:
            yield f"`{output.name}` is `{value}`, and {', '.join(unsafe)}"
        else:
            yield f"`{output.name}` is still `{value}`, and ought to be at rest by now"


# --- What goes on for ever ----------------------------------------------------------------------


def _standing_still(model: Model, finding: Finding, region: Region | None) -> Iterator[str]:
    if finding.run is None or finding.run.repeats_from is None:
        return
    round_views = replay(model, finding.run).happenings(finding.run.repeats_from)
    if finding.kind.name == "self-running":
        for each in goes_round(model, finding.run):
            if region is None or each is region:
                at = model.region_index[each.name]
                leaves = [view.state.regions[at].leaf for view in round_views]
                names = ", ".join(dict.fromkeys(each.states[leaf].name for leaf in leaves))
                yield f"`{each.name}` goes round with everybody standing still: {names}"
        return
    for output in stays_away(model, finding.run):
        if _is_of(model, region, output.name):
            at = model.output_index[output.name]
            values = dict.fromkeys(view.state.outputs[at] for view in round_views)
            stays = " or ".join(f"`{value}`" for value in values)
            yield f"`{output.name}` stays {stays} with everybody standing still"


# --- What waits ---------------------------------------------------------------------------------


def _waiting(
    model: Model, finding: Finding, region: Region, views: Sequence[LoopView]
) -> Iterator[str]:
    ways = {way.number: way for way in region.transitions()}
    match finding.kind.name, finding.subject:
        case "order-matters", (_, int(), int(passed_over)):
            what = _due(model, ways[passed_over])
            yield f"{what} in this loop as well, and is passed over"
        case "false-jam", _:
            yield _cut_off(model, views)
        case "deaf", _ if finding.place is not None:
            yield from _deaf(model, region, finding.place[1], views)
        case _:
            return


def _due(model: Model, way: Transition) -> str:
    if way.when is not None:
        return f"`{condition_words(model, way.when)}` holds"
    return "the end of the cues comes" if way.after is None else f"`{after_words(way.after)}` is up"


def _cut_off(model: Model, views: Sequence[LoopView]) -> str:
    """Name the movement that was on its way when the time was up."""
    before = views[-2]
    look = Sights(model, views).left[-2]
    for at, mechanism in enumerate(model.mechanism):
        stood = before.stimulus.mechanism[at]
        if stood != views[-1].stimulus.mechanism[at]:
            continue
        for movement in mechanism.states[stood].movements:
            if look.holds(movement.during):
                target = mechanism.states[movement.target].name
                return f"the time is up with `{mechanism.name}` still on its way to `{target}`"
    return "the time is up before the news of the movement can count"


def _deaf(model: Model, region: Region, state: str, views: Sequence[LoopView]) -> Iterator[str]:
    inputs = views[-1].state.inputs
    number = next(each.number for each in region.states if each.name == state)
    for way in region.states[number].leave:
        match way.when:
            case Becomes(name=name, value=value) if name in model.input:
                if inputs[model.input_index[name]].steady == value:
                    yield f"`{name}` is `{value}` already, and only its becoming so is looked for"
            case _:
                pass


def _is_of(model: Model, region: Region | None, output: str) -> bool:
    return region is None or model.owner.get(output) == region.name
