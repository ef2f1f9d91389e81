"""What an output that stays at a value keeps by itself, so that nothing need be searched.

Strategy: until it stays so the prop is healthy, and after that the value alone decides a condition.
"""

from behaviour.check.hands import Hands
from behaviour.check.watches import longest_sensing
from behaviour.explore.guards import count
from behaviour.faults import Fault, Welded
from behaviour.model import Always, AtMost, Model, Never, Rule, Whenever


def is_kept_by(model: Model, rule: Rule, fault: Fault) -> bool:
    """Tell whether a rule that holds in the healthy prop holds with a fault since that masks it.

    What must not be is not while the output has the value. In the loop in which that begins, how
    long it was so before hangs on nothing that this loop sets: so it is as in a healthy run that
    reads the same in it. What waits for an answer has it as soon as the value is one. It is then
    late only where its question took too long to be known, for which no question is asked. What is
    in force in some stretches only is not looked at: they may hang on the value too.
    """
    if not isinstance(fault, Welded) or rule.scope is not None:
        return False
    stays = Hands({fault.output: fault.value})
    match rule.requirement:
        case Never(condition=condition) | AtMost(condition=condition):
            return stays.judge(condition) is False
        case Always(condition=condition):
            return stays.judge(condition) is True
        case Whenever(trigger=trigger, response=response, limit=limit) if limit is not None:
            is_known = longest_sensing(model, trigger) <= count(model, limit)
            return is_known and stays.judge(response) is True
        case _:
            return False
