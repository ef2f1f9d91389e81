"""Two small carousels for tests of what people see: one with an interlock, one that forgot it."""

from behaviour.findings import Run, Stimulus
from behaviour.source import Source

CAROUSEL = Source(
    "carousel.yaml",
    """\
language: 1
prop: Confetti carousel
about: Each pull of the trigger turns the next tube to the valve and fires it.
loop: 10 ms
inputs:
  lid:
    {kind: switch, role: guard, values: [closed, open], safe: closed,
     steady: {open: 10 ms, closed: 200 ms}}
  trigger: {kind: button, role: start, steady: 20 ms}
  mark: {kind: sensor, values: [clear, made]}
outputs:
  drum: {kind: motor, values: [stopped, forward]}
  valve: {kind: valve, values: [shut, open]}
  lamp: {kind: lamp, values: [dark, green, amber, red, white]}
counters:
  loaded: {from: 0, to: 6, begins: 6}
regions:
  carousel:
    begins: idle
    interlocks:
      - {when: lid is open, go: lid_open}
    states:
      idle:
        set: {lamp: green}
        leave:
          - {when: trigger becomes pressed and loaded > 0, go: turn}
          - {when: trigger becomes pressed, go: empty}
      turn:
        set: {drum: forward, lamp: amber}
        leave:
          - {when: mark becomes made, go: shot}
          - {after: 1500 ms, go: jammed}
      shot:
        set: {lamp: amber}
        cues:
          - {at: 100 ms, set: {valve: open}}
          - {at: 250 ms, set: {valve: shut}}
          - {at: 600 ms}
        at the end: {do: take 1 from loaded, go: idle}
      empty: {leave: [{after: 2 s, go: idle}]}
      jammed:
        set: {lamp: red}
        operator: "Jammed. Hold the trigger for three seconds."
        leave: [{when: trigger is pressed for 3 s, after: 3 s, go: idle}]
      lid_open:
        set: {lamp: white}
        leave: [{when: lid is closed for 500 ms, do: set loaded to 6, go: idle}]
mechanism:
  drum_position:
    begins: any
    states:
      between:
        reads: {mark: clear}
        leave: [{while: drum is not stopped, takes: 250 ms to 400 ms, go: at_tube}]
      at_tube:
        reads: {mark: made}
        leave: [{while: drum is not stopped, takes: 20 ms to 60 ms, go: between}]
""",
)

FORGETFUL = Source(
    "forgetful.yaml",
    """\
language: 1
prop: Forgetful carousel
loop: 10 ms
inputs:
  lid:
    {kind: switch, role: guard, values: [closed, open], safe: closed,
     steady: {open: 10 ms, closed: 200 ms}}
  trigger: {kind: button, role: start, steady: 20 ms}
outputs:
  drum: {kind: motor, values: [stopped, forward]}
  lamp: {kind: lamp, values: [dark, green, amber, white]}
regions:
  carousel:
    begins: lid_open
    states:
      lid_open:
        set: {lamp: white}
        leave: [{when: lid is closed for 500 ms, go: idle}]
      idle:
        set: {lamp: green}
        leave: [{when: trigger becomes pressed, go: turn}]
      turn:
        set: {drum: forward, lamp: amber}
        leave: [{after: 1500 ms, go: lid_open}]
mechanism:
  drum_position:
    begins: any
    states:
      between: {leave: [{while: drum is forward, takes: 250 ms to 400 ms, go: at_tube}]}
      at_tube: {leave: [{while: drum is forward, takes: 20 ms to 60 ms, go: between}]}
rules:
  - {name: nothing turns under an open lid, never: drum is forward and lid is open, for: 40 ms}
""",
)


def lid_opens_while_it_turns() -> Run:
    """Give a run of the forgetful carousel: trigger at 0.72 s, lid at 0.75 s, broken at 0.79 s."""
    return Run(
        stimuli=tuple(
            Stimulus(
                raw=(
                    "open" if loop >= 75 else "closed",
                    "pressed" if loop >= 72 else "released",
                ),
                mechanism=(0,),
            )
            for loop in range(80)
        ),
        breach=79,
        says=((79, "the drum has now turned under an open lid for 40 ms"),),
    )
