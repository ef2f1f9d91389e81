"""Small props whose boards have every kind of wire between them, on the pins of a Uno."""

from behaviour.language.load import read_model
from behaviour.model import Model
from behaviour.source import Source

MOVING = """\
language: 1
prop: Moving parts
about: Two steppers, a motor with a pin for each way, one with a direction, a servo.
loop: 10 ms
watchdog: 300 ms
drives:
  wheel:
    kind: stepper
    steps: 200
    microsteps: 4
    speed: 60 rpm
    ramp: 240 rpm/s
    ramp_down: yes
    winding: {current: 1 A, inductance: 4 mH}
    load: {inertia: 0.001 kg m2, friction: 0.05 N m}
    torque: [[0 rpm, 1 N m], [300 rpm, 0.5 N m]]
    tolerance: 15 %
  drum:
    kind: stepper
    steps: 200
    microsteps: 8
    speed: 60 rpm
    ramp: 600 rpm/s
    winding: {current: 1 A, inductance: 4 mH}
    load: {inertia: 0.001 kg m2, friction: 0.05 N m}
    torque: [[0 rpm, 1 N m], [300 rpm, 0.5 N m]]
    tolerance: 15 %
inputs:
  go: {kind: button, pin: 2, pull: up}
outputs:
  wheel: {kind: motor, values: [stopped, forward, back], pins: {step: 3, dir: 4}}
  drum:
    {kind: motor, values: [stopped, forward, back], on_when: low,
     pins: {step: 5, dir: 6, enable: 7}}
  winch:
    {kind: motor, values: [stopped, up, down], pins: {up: 8, down: 12}, turns: other way}
  cart: {kind: motor, values: [stopped, away, home], pins: {dir: A0, enable: A1}}
  jaw: {kind: servo, values: [shut, open], pin: 11, gives: {shut: 0 deg, open: 90 deg}}
regions:
  show:
    begins: idle
    states:
      idle:
        leave: [{when: go becomes pressed, go: first}]
      first:
        set: {wheel: forward 360 deg, drum: forward, winch: up, cart: away, jaw: open}
        leave: [{when: wheel is done, go: pause}]
      pause:
        leave: [{after: 200 ms to 400 ms, go: second}]
      second:
        set: {wheel: back, drum: back, winch: down, cart: home}
        leave: [{after: 600 ms, go: idle}]
"""

SHINING = """\
language: 1
prop: Lights and sounds
about: Levels, selectors, lights that fade, a sound that is triggered, a brake that holds at rest.
loop: 10 ms
inputs:
  sky: {kind: sensor, values: [bright, dim], pin: A0, levels: {dim: below 300, bright: above 340}}
  mode: {kind: selector, values: [off, show, test], pins: {show: 2, test: A3}, pull: up}
  dial: {kind: selector, values: [low, high], pins: {low: 4, high: 7}, pull: up}
  reed: {kind: sensor, values: [clear, made], pin: 8, pull: none, low: made}
outputs:
  face:
    {kind: light, values: [dark, low, full], pin: 5, gives: {low: 20 %, full: 100 %}, fade: 100 ms}
  glow: {kind: light, values: [dark, red, blue], pins: {red: 6, blue: 9}, fade: 50 ms}
  warm: {kind: heater, values: [cold, warm], pin: 10, gives: {warm: 50 %}, fade: 1 s}
  spin:
    {kind: motor, values: [stopped, left, right], pins: {left: 3, right: 11}, gives: {left: 40 %}}
  horn:
    {kind: sound, values: [quiet, beep, whoop], pulse: 50 ms, gap: 100 ms,
     pins: {beep: 12, whoop: 13}}
  brake: {kind: relay, values: [free, holding], rest: holding, pin: A1, on_when: low}
  led: {kind: lamp, values: [dark, on], pin: A2}
counters:
  depth: {from: 0, to: 3, begins: 3}
regions:
  lights:
    begins: calm
    states:
      calm:
        leave: [{when: mode becomes show, do: take 1 from depth, go: shining}]
      shining:
        set: {face: full, glow: red, warm: warm, spin: left, horn: beep, brake: free, led: on}
        leave: [{when: mode is off, go: calm}, {when: dial is high and reed is made, go: other}]
      other:
        set: {face: low, glow: blue, horn: whoop, spin: right}
        leave: [{when: mode is off or sky is dim, go: calm}]
"""

OPEN = """\
language: 1
prop: Left open
about: What no pin does by itself is the coder's.
loop: 10 ms
inputs:
  radio: {kind: sensor, values: [quiet, news]}
  plain: {kind: sensor, values: [clear, made], pin: 2}
outputs:
  strip: {kind: light, values: [dark, rainbow]}
  voice: {kind: signal, values: [quiet, tone], pin: 3, gives: {tone: 440 Hz}}
  jaw: {kind: servo, values: [shut, open], pin: 9, gives: {open: 90 deg}}
  lamp: {kind: lamp, values: [dark, lit], pin: 4}
regions:
  all:
    begins: calm
    states:
      calm: {leave: [{when: radio is news or plain is made, go: loud}]}
      loud:
        set: {strip: rainbow, voice: tone, jaw: open, lamp: lit}
        leave: [{when: radio is quiet, go: calm}]
"""

CAPITALS = """\
language: 1
prop: 'Names that chips have */ #error \\'
loop: 10 ms
drives:
  output: {kind: stepper, steps: 200, speed: 60 rpm, ramp: 240 rpm/s}
inputs:
  B1: {kind: button, pin: 2, pull: up}
  PB1: {kind: sensor, values: [LOW, HIGH], pin: 3, pull: up, low: LOW}
  ADC: {kind: sensor, values: [B0, B1], pin: A0, levels: {B0: below 300, B1: above 340}}
outputs:
  output: {kind: motor, values: [still, turning], pins: {step: 4, enable: 7}}
  OUTPUT: {kind: light, values: [LOW, HIGH], pin: 5, gives: {HIGH: 50 %}, fade: 1 s}
  fade: {kind: sound, hazard: yes, values: [put, dim], pin: 6, pulse: 50 ms}
  servo: {kind: servo, values: [shut, open], pin: 8, gives: {shut: 0 deg, open: 90 deg}}
  Servo: {kind: servo, values: [shut, open], pin: A1, gives: {shut: 0 deg, open: 90 deg}}
counters:
  SREG: {from: 0, to: 3, begins: 3}
regions:
  TCNT1:
    begins: PORTC
    states:
      PORTC: {leave: [{when: B1 becomes pressed, do: take 1 from SREG, go: F}]}
      F:
        set: {output: turning, OUTPUT: HIGH, fade: dim, servo: open, Servo: open}
        leave: [{when: PB1 is HIGH and ADC is B1, go: PORTC}]
"""
"""Names that are macros of the chips, of Arduino's headers, or of the board file's own."""


def read(text: str) -> Model:
    """Read a prop that stands here."""
    model, mistakes = read_model(Source("props.yaml", text))
    assert model is not None, [str(each) for each in mistakes]
    return model


def board_props() -> dict[str, Model]:
    return {"moving": read(MOVING), "shining": read(SHINING), "capitals": read(CAPITALS)}
