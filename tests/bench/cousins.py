"""The carousel's smaller cousins: props of which the twin can visit every state in a while."""

from behaviour.source import Source

TURNING_DRUM = Source(
    "turning-drum.yaml",
    """\
language: 1
prop: Turning drum
loop: 10 ms
inputs:
  trigger: {kind: button, role: start, steady: 20 ms}
  mark: {kind: sensor, values: [clear, made]}
outputs:
  drum: {kind: motor, values: [stopped, forward]}
regions:
  carousel:
    begins: idle
    states:
      idle: {leave: [{when: trigger becomes pressed, go: turn}]}
      turn:
        set: {drum: forward}
        leave:
          - {when: mark becomes made, go: idle}
          - {after: 500 ms, go: jammed}
      jammed: {leave: [{when: trigger becomes pressed, go: idle}]}
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
rules:
  - {name: the drum stops, while: drum is forward, at most: 510 ms}
""",
)

DRUM_UNDER_A_LID = Source(
    "drum-under-a-lid.yaml",
    """\
language: 1
prop: Drum under a lid
loop: 10 ms
inputs:
  lid: {kind: switch, role: guard, values: [closed, open], safe: closed,
        steady: {open: 10 ms, closed: 200 ms}}
  trigger: {kind: button, role: start, steady: 20 ms}
outputs:
  drum: {kind: motor, values: [stopped, forward]}
regions:
  carousel:
    begins: idle
    interlocks:
      - {when: lid is open, go: lid_open}
    states:
      idle: {leave: [{when: trigger becomes pressed, go: turn}]}
      turn: {set: {drum: forward}, leave: [{after: 1500 ms, go: idle}]}
      lid_open: {leave: [{when: lid is closed for 500 ms, go: idle}]}
rules:
  - name: nothing turns under an open lid
    never: drum is forward and lid is open
    for: 20 ms
  - {name: it can be made ready again, way back: carousel in idle}
""",
)


def small_carousel(times: int) -> Source:
    """Give a carousel of two tubes, quick to turn and to fire; `times` makes it slower."""

    def ms(time: int) -> str:
        return f"{time * times} ms"

    return Source(
        "small-carousel.yaml",
        f"""\
language: 1
prop: Small carousel, {times} times as slow
loop: 10 ms
inputs:
  lid: {{kind: switch, role: guard, values: [closed, open], safe: closed,
        steady: {{open: 10 ms, closed: {ms(40)}}}}}
  trigger: {{kind: button, role: start, steady: 10 ms}}
  mark: {{kind: sensor, values: [clear, made]}}
outputs:
  drum: {{kind: motor, values: [stopped, forward]}}
  valve: {{kind: valve, values: [shut, open]}}
counters:
  loaded: {{from: 0, to: 2, begins: 2}}
regions:
  carousel:
    begins: idle
    interlocks:
      - {{when: lid is open, go: lid_open}}
    states:
      idle: {{leave: [{{when: trigger becomes pressed and loaded > 0, go: turn}}]}}
      turn:
        set: {{drum: forward}}
        leave:
          - {{when: mark becomes made, go: shot}}
          - {{after: {ms(150)}, go: idle}}
      shot:
        cues:
          - {{at: {ms(10)}, set: {{valve: open}}}}
          - {{at: {ms(30)}, set: {{valve: shut}}}}
          - {{at: {ms(60)}}}
        at the end: {{do: take 1 from loaded, go: idle}}
      lid_open: {{leave: [{{when: lid is closed for {ms(60)}, do: set loaded to 2, go: idle}}]}}
mechanism:
  drum_position:
    begins: any
    states:
      between:
        reads: {{mark: clear}}
        leave: [{{while: drum is not stopped, takes: {ms(40)} to {ms(60)}, go: at_tube}}]
      at_tube:
        reads: {{mark: made}}
        leave: [{{while: drum is not stopped, takes: {ms(10)} to {ms(20)}, go: between}}]
rules:
  - name: nothing turns under an open lid
    never: drum is forward and lid is open
    for: 30 ms
  - {{name: the valve shuts, while: valve is open, at most: {ms(20)}}}
  - {{name: it can be made ready again, way back: carousel in idle}}
""",
    )


COUSINS = (TURNING_DRUM, DRUM_UNDER_A_LID, small_carousel(1), small_carousel(3), small_carousel(9))
