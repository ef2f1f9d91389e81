"""The rules of a file: each is watched beside the part of the prop that it can depend on."""

from collections.abc import Iterable, Iterator
from functools import partial

from behaviour.check.asking import Asking, Judge, following_lines
from behaviour.check.claims import stays_unanswered
from behaviour.check.confirming import NOT_BORNE_OUT, bears_out
from behaviour.check.judging import GOES_ON, until_broken
from behaviour.check.ordering import PENDING, Pending
from behaviour.check.outright import is_kept_outright
from behaviour.check.pointing import point, requirement_words
from behaviour.check.recalling import inside, recalling
from behaviour.check.staying import Prospect, is_known_possible, is_possible, is_possible_after
from behaviour.check.verdicts import Told, Verdicts, finding
from behaviour.check.watches import (
    in_scope,
    longest_sensing,
    slowest_sensing,
    unsensed,
    unsettled,
    watches_of,
)
from behaviour.check.watching import BREACH
from behaviour.explore.backwards import OPEN, Bounds
from behaviour.explore.budget import LimitError
from behaviour.explore.endless import lasting_for_ever, may_last
from behaviour.explore.guards import atoms, count
from behaviour.explore.reach import Lookout
from behaviour.explore.situations import Mark, Moment, Move, Question, Situation, Stay, Watch
from behaviour.explore.ways import Possible
from behaviour.findings import Finding, Label, Run, Verdict
from behaviour.model import (
    AtLeast,
    AtMost,
    Count,
    InState,
    Model,
    Never,
    Rate,
    Requirement,
    Rule,
    WayBack,
    Whenever,
    conditions,
)
from behaviour.story import replay
from behaviour.wording import duration

CANNOT_SENSE = LimitError(
    "what this release can sense", "this release cannot sense what stands in it"
)


def check_rules(asking: Asking, rules: Iterable[Rule] | None = None) -> Told:
    """Judge every rule, or some of them, in the healthy world or the one that is asked in."""
    verdicts: list[Verdict] = []
    findings: list[Finding] = []
    for rule in asking.model.rules if rules is None else rules:
        verdict = Verdicts(rule.name)
        found: list[Finding] = []
        verdict.decide(lambda rule=rule, found=found: _judge(asking, rule, found))  # type: ignore[misc]
        verdicts.append(verdict.verdict())
        findings += found
    return Told(tuple(verdicts), tuple(findings))


def _judge(asking: Asking, rule: Rule, found: list[Finding]) -> bool:
    """Judge a rule; where no time is left not even the file is asked. Raises LimitError then."""
    asking.budget.share().spend()
    reads_file = not asking.faults and not asking.model.unknowns
    if reads_file and is_kept_outright(asking.model, rule):
        return False
    match rule.requirement:
        case WayBack():
            run = _no_way_back(asking, rule)
        case Whenever(limit=None):
            run = _unanswered(asking, rule)
        case _:
            watches = watches_of(asking.model, rule)
            run = (
                _roughly_sensed(asking, rule)
                if watches is None
                else _watched(asking, rule, watches, partial(until_broken, asking.model, rule))
            )
    if run is None:
        return False
    if not bears_out(asking.model, "rule-broken", rule.name, run):
        raise NOT_BORNE_OUT
    found.append(rule_finding(asking.model, rule, run))
    return True


def _watched(
    asking: Asking, rule: Rule, watches: list[Watch], judge: Judge | None = None
) -> Run | None:
    asked = rule.conditions()
    for watch in watches if asking.faults else map(unsettled, watches):
        anew = not isinstance(rule.requirement, GOES_ON)
        question = Question(
            watches=(watch,),
            conditions=asked,
            begins_anew=anew,
            is_timed=isinstance(rule.requirement, AtMost | AtLeast | Rate),
            is_counted=isinstance(rule.requirement, Count) and rule.requirement.most > 1,
        )
        run = asking.reach(
            question, lambda _: _is_broken, conditions=asked, near=_is_waiting, judge=judge
        )
        if run is not None:
            return run
    return None


def _roughly_sensed(asking: Asking, rule: Rule) -> Run | None:
    """Judge a rule whose sensing cannot be followed: without any, and with the most there is.

    Raises LimitError where that makes a difference.
    """
    run = _watched(asking, rule, unsensed(asking.model, rule, shorter=0))
    if run is not None:
        return run
    most = longest_sensing(asking.model, conditions(rule.requirement)[0])
    limit = rule.requirement.limit if isinstance(rule.requirement, Never | Whenever) else None
    if limit is None or count(asking.model, limit) < most:
        raise CANNOT_SENSE
    if _watched(asking, rule, unsensed(asking.model, rule, shorter=most)) is not None:
        raise CANNOT_SENSE
    return None


def _is_broken(at: Situation) -> bool:
    return at.watch[0] == BREACH


def _is_waiting(at: Situation) -> bool:
    """Tell whether a watch has seen something begin."""
    return at.watch[0] != 0


def _unanswered(asking: Asking, rule: Rule) -> Run | None:
    """Find a run that goes on for ever after its trigger without an answer."""
    requirement = rule.requirement
    if not isinstance(requirement, Whenever):
        return None
    trigger, response, asked = requirement.trigger, requirement.response, rule.conditions()
    scoped = in_scope(Pending(trigger, response), rule.scope)
    watch = recalling(asking.model, scoped, trigger)
    pending = PENDING if rule.scope is None else PENDING + 1
    question = Question(watches=(watch,), conditions=asked, begins_anew=True)

    def keeps(at: Situation) -> bool:
        return inside(watch, at.watch[0]) == pending

    lookout = asking.lookout(question, conditions=asked)
    drawn = asking.sketches(question, conditions=asked, uncounting=True)
    if not asking.faults and not all(may_last(rough, keeps) for rough in drawn):
        return None
    run = lasting_for_ever(lookout, keeps)
    if run is None:
        return None
    told = asking.whole(lookout.model, run)
    if asking.faults:
        raise LimitError("rounds", "whether it goes on for ever with this wrong is not shown")
    if not stays_unanswered(asking.model, requirement, rule.scope, told):
        raise LimitError("rounds", "something may go on for ever that no run was found for")
    return told


def _no_way_back(asking: Asking, rule: Rule) -> Run | None:
    if not isinstance(rule.requirement, WayBack):
        return None
    condition = rule.requirement.condition

    def observe(moment: Moment, to: Situation) -> Iterator[Mark]:
        del to
        for lows in moment.left.judge(condition):
            yield Mark("there", lows)

    question = Question(observers=(observe,), conditions=(condition,))

    def is_good(at: Situation, step: Move | Stay) -> Bounds | None:
        del at
        there: list[Bounds] = [mark.bounds or (OPEN if mark.lows else ()) for mark in step.marks]
        return min(there, key=len, default=None)

    def stays_possible(lookout: Lookout) -> Possible:
        return Possible(following_lines(lookout), is_good, lambda _: True, kind=lambda _: None)

    prospect = Prospect(lambda course: course.may_hold(condition))
    if asking.faults and (
        is_known_possible(asking, question, (condition,))
        or is_possible_after(asking, question, stays_possible, prospect, (condition,))
    ):
        return None
    lookout = asking.lookout(question, conditions=(condition,), stays_possible=True)
    first = stays_possible(lookout).at_first() if asking.faults else None
    if first is not None:
        return asking.whole(lookout.model, first.witness.run)
    if is_possible(asking, question, stays_possible, prospect, conditions=(condition,)):
        return None
    places = stays_possible(lookout).nowhere(one=True)
    return asking.whole(lookout.model, places[0].witness.run) if places else None


def rule_finding(model: Model, rule: Rule, run: Run) -> Finding:
    """Give the finding of a run that breaks a rule."""
    requirement = rule.requirement
    slow = _too_slow(model, rule)
    if slow is not None:
        return finding(
            "sensing-too-slow",
            slow,
            rule.span,
            "less time than filter and loop need",
            run=run,
            rule=rule.name,
            related=tuple(_sensed_inputs(model, requirement)),
        )
    pointed = point(model, rule, replay(model, run)[-1])
    return finding(
        "rule-broken",
        requirement_words(model, requirement),
        pointed.at.span,
        pointed.at.text,
        run=run,
        rule=rule.name,
        hint=pointed.hint,
        related=pointed.related,
        place=pointed.place,
    )


def _too_slow(model: Model, rule: Rule) -> str | None:
    """Say that a rule's time is shorter than sensing, if it is."""
    match rule.requirement:
        case Never(limit=limit) | Whenever(limit=limit) if limit is not None:
            sensing = slowest_sensing(model, rule.requirement)
            allowed = count(model, limit)
            if sensing > allowed:
                return (
                    f"`{rule.name}` allows {duration(allowed * model.loop)}, and sensing alone "
                    f"takes {duration(sensing * model.loop)}"
                )
        case _:
            pass
    return None


def _sensed_inputs(model: Model, requirement: Requirement) -> Iterator[Label]:
    """Point at each input that the left side of a rule waits for."""
    left = conditions(requirement)[0]
    names = [atom.name for atom in atoms(left) if not isinstance(atom, InState)]
    for name in dict.fromkeys(names):
        if name in model.input:
            yield Label(model.input[name].span, "this has to be sensed first")
