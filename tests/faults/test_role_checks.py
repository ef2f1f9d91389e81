"""Role checks with something wrong that they did not use to look at."""

import pytest

from behaviour.check.faulting import Cell, Worksheet, worksheet
from behaviour.check.run import Limits
from behaviour.faults import BrownOut, Fault, Swapped, Welded
from behaviour.pipeline import Readable, read
from behaviour.source import Source

FAN = """language: 1
prop: Fan
loop: 10 ms
inputs:
  halt: {kind: button, role: stop, safe: released}
  lid: {kind: switch, values: [closed, open], role: guard, safe: closed}
  go: {kind: button, role: start}
  side: {kind: switch, values: [left, right]}
outputs:
  fan: {kind: motor, values: [still, turning]}
  spare: {kind: relay, values: [off, on]}
regions:
  works:
    begins: idle
    interlocks:
      - {when: halt is pressed or lid is open, go: stopped}
    states:
      idle: {leave: [{when: go becomes pressed, go: blows}]}
      blows: {set: {fan: turning}, leave: [{when: side is right, go: idle}]}
      stopped: {leave: [{when: halt is released and lid is closed, go: idle}]}
"""

BLIND = """language: 1
prop: Fan
loop: 10 ms
inputs:
  halt: {kind: button, role: stop, safe: released}
  side: {kind: switch, values: [left, right]}
outputs:
  fan: {kind: motor, values: [still, turning]}
regions:
  works:
    begins: idle
    states:
      idle: {leave: [{after: 30 ms, go: blows}]}
      blows: {set: {fan: turning}, leave: [{when: side is right, go: idle}]}
"""


def sheet_of(text: str) -> Worksheet:
    readable = read(Source("fan.yaml", text))
    assert isinstance(readable, Readable), readable
    return worksheet(readable.model, Limits(seconds=60))


@pytest.fixture(scope="module")
def sheet() -> Worksheet:
    return sheet_of(FAN)


def cell(sheet: Worksheet, fault: Fault, check: str) -> Cell:
    row = next(row for row in sheet.rows if row.faults == (fault,))
    return next(effect.cell for effect in row.effects if effect.name == check)


def test_a_stop_on_another_plug_stops_nothing_and_no_program_can_tell(sheet):
    # what `halt` truly is goes to `side`, which `idle` does not look at: the fan turns under it
    assert cell(sheet, Swapped("halt", "side"), "stop-is-beaten") is Cell.BEYOND


def test_a_stop_that_only_a_check_looks_at_may_be_on_the_plug_of_what_is_looked_at_now_and_then():
    sheet = sheet_of(BLIND)

    assert next(v for v in sheet.healthy if v.name == "stop-is-beaten").answer.value == "broken"
    assert cell(sheet, Swapped("halt", "side"), "stop-is-beaten") is Cell.BROKEN


@pytest.mark.parametrize("check", ["guard-open-moves", "stop-is-beaten", "starts-unasked"])
def test_a_hazard_that_nothing_drives_is_away_from_rest_all_the_same_where_it_is_welded(
    sheet, check
):
    # by the page each hazard counts, and an output stays at a value whatever is set
    assert cell(sheet, Welded("spare", "on"), check) is Cell.BEYOND
    assert cell(sheet, Welded("spare", "off"), check) is Cell.CAUGHT


LATCH = """language: 1
prop: Fan
loop: 10 ms
inputs:
  lid: {kind: switch, values: [closed, open], role: guard, safe: closed}
  go: {kind: button, role: start, steady: 10 ms}
outputs:
  fan: {kind: motor, values: [still, turning]}
regions:
  works:
    begins: idle
    states:
      idle: {leave: [{when: go becomes pressed and lid is closed, go: blows}]}
      blows: {set: {fan: turning}, leave: [{after: 30 ms, go: idle}]}
rules:
  - {name: asked for, first: go becomes pressed, before: fan is turning}
"""


@pytest.mark.parametrize("requirement", ["starts-unasked", "asked for"])
def test_after_power_failed_what_is_believed_of_a_button_may_part_from_what_it_is(requirement):
    # a start: power fails; a blip of 10 ms as it comes back is believed at once, and its end is a
    # fresh press for the controller, though the button was pressed all along
    assert cell(sheet_of(LATCH), BrownOut(), requirement) in (Cell.BEYOND, Cell.BROKEN)
