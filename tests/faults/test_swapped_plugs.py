"""Two plugs exchanged, on inputs whose values have different names."""

from behaviour.check.asking import Asking
from behaviour.check.rules import check_rules
from behaviour.explore.search import Budget
from behaviour.faults import Swapped
from behaviour.findings import Answer
from tests.reading import model_of


def test_who_holds_the_button_holds_the_lid_shut_for_the_controller():
    model = model_of("""\
        language: 1
        prop: Box
        loop: 10 ms
        inputs:
          lid: {kind: switch, values: [shut, open], pin: 2, pull: up, low: shut}
          go: {kind: button, pin: 3, pull: up}
        outputs:
          fan: {kind: motor, values: [still, turning]}
        regions:
          box:
            begins: waiting
            interlocks: [{when: lid is open, go: waiting}]
            states:
              waiting: {leave: [{when: go is pressed and lid is shut, go: blowing}]}
              blowing: {set: {fan: turning}}
        rules:
          - {name: no wind out of an open lid, never: fan is turning and lid is open, for: 20 ms}
        """)

    (verdict,) = check_rules(Asking(model, Budget(10_000, 20), (Swapped("lid", "go"),))).verdicts

    assert verdict.answer is Answer.BROKEN
    assert check_rules(Asking(model, Budget(10_000, 20))).verdicts[0].answer is Answer.HOLDS
