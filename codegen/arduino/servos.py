"""Writes how a board file pulses servos: by a timer of the chip, without Arduino's library."""

from codegen.arduino.cores import SERVO_TIMERS
from codegen.cwriter import CWriter
from codegen.wired import Board, DriveCall, Servo

FRAME_US = 20_000
"""The time from pulse to pulse that servos are made for (common practice, no source)."""

LAST_CHANNEL = 15
"""An ESP32 has 16, and channels 2n and 2n+1 have one timer (arduino-esp32 3, esp32-hal-ledc.c)."""


def servos(out: CWriter, board: Board) -> None:
    """Write what pulses the servos, where there are any."""
    if not board.servos:
        return
    match board.core:
        case "avr":
            _by_interrupt(out, board)
        case "esp32":
            _by_ledc(out)
        case _:
            _by_slices(out)


def servos_begun(out: CWriter, board: Board) -> None:
    """Write how the pulses begin, each servo at rest."""
    for _, how in board.servos:
        which = _which(board.core, how)
        given = (which, how.pin, how.at_rest) if which != how.pin else (which, how.at_rest)
        out.statement(f"begin_servo({', '.join(given)});")
    if board.servos and board.core == "avr":
        out.line("begin_pulses();")


def drive_servo(out: CWriter, output: DriveCall, how: Servo, core: str) -> None:
    """Write the call that drives a servo."""
    with out.function(f"void {output.call}({output.type} value)"):
        out.statement(f"uint16_t pulse_us = {how.at_rest};")
        out.line()
        with out.switch("value"):
            for value, pulse in how.pulses:
                out.line(f"case {value}:")
                with out.indented():
                    out.line(f"pulse_us = {pulse};")
                    out.line("break;")
            out.line("default:")
            with out.indented():
                out.line("break;")
        out.statement(f"turn_servo({_which(core, how)}, pulse_us);")


def _which(core: str, how: Servo) -> str:
    """Name a servo: on an AVR by its place in the round of pulses, else by its pin."""
    return how.number if core == "avr" else how.pin


def _by_interrupt(out: CWriter, board: Board) -> None:
    timer = SERVO_TIMERS[board.controller]
    out.comment(
        f"Servos: timer {timer} counts half microseconds. Its interrupt ends the pulse of one "
        f"servo and begins that of the next, and {FRAME_US // 1000} ms after the first one it "
        "begins anew. Any pin will do."
    )
    for number, (_, how) in enumerate(board.servos):
        out.line(f"#define {_which(board.core, how)} {number}u")
    out.line(f"#define SERVOS {len(board.servos)}u")
    out.line("#define TICKS_IN_US 2u")
    out.line(f"#define FRAME_TICKS ({FRAME_US}u * TICKS_IN_US)")
    out.line()
    out.line("static uint8_t servo_pins[SERVOS];")
    out.line("static volatile uint16_t servo_ticks[SERVOS];")
    out.line()
    _interrupt(out, timer)
    _turning(out, timer)


def _interrupt(out: CWriter, timer: int) -> None:
    with out.function(f"ISR(TIMER{timer}_COMPA_vect)"):
        out.line("static uint8_t at = 0u;")
        out.line("static uint16_t left = FRAME_TICKS;")
        out.line("uint16_t ticks = left;")
        out.line()
        with out.block("if (at > 0u)"):
            out.line("digitalWrite(servo_pins[at - 1u], LOW);")
        with out.block("if (at < SERVOS)", "} else {"):
            out.line("digitalWrite(servo_pins[at], HIGH);")
            out.line("ticks = servo_ticks[at];")
            out.line("left = (uint16_t)(left - ticks);")
            out.line("at++;")
        with out.indented():
            out.line("left = FRAME_TICKS;")
            out.line("at = 0u;")
        out.line("}")
        out.line(f"OCR{timer}A = (uint16_t)(OCR{timer}A + ticks);")


def _turning(out: CWriter, timer: int) -> None:
    with out.function("static void turn_servo(uint8_t servo, uint16_t pulse_us)"):
        out.line("noInterrupts();")
        out.line("servo_ticks[servo] = (uint16_t)(pulse_us * TICKS_IN_US);")
        out.line("interrupts();")
    head = "static void begin_servo(uint8_t servo, uint8_t pin, uint16_t pulse_us)"
    with out.function(head):
        out.line("servo_pins[servo] = pin;")
        out.line("turn_servo(servo, pulse_us);")
        out.line("digitalWrite(pin, LOW);")
        out.line("pinMode(pin, OUTPUT);")
    with out.function("static void begin_pulses(void)"):
        out.line(f"TCCR{timer}A = 0u;")
        out.line(f"TCCR{timer}B = (uint8_t)(1u << CS{timer}1);")
        out.line(f"OCR{timer}A = (uint16_t)(TCNT{timer} + FRAME_TICKS);")
        out.line(f"TIMSK{timer} = (uint8_t)(1u << OCIE{timer}A);")


def _by_ledc(out: CWriter) -> None:
    out.line("#if ESP_ARDUINO_VERSION_MAJOR < 3")
    out.line('#error "the servos are driven by calls of version 3 of the ESP32\'s Arduino core"')
    out.line("#endif")
    out.line()
    out.comment(
        f"Servos: the chip's own PWM makes {1_000_000 // FRAME_US} pulses a second, and counts "
        f"{FRAME_US // 1000} ms in parts of 1/16384. Two channels each share a timer, and lights "
        f"get theirs from 0 on, so servos begin at {LAST_CHANNEL}."
    )
    with out.function("static void turn_servo(uint8_t pin, uint16_t pulse_us)"):
        out.line(f"(void)ledcWrite(pin, ((uint32_t)pulse_us * 16384u) / {FRAME_US}u);")
    with out.function("static void begin_servo(uint8_t pin, uint16_t pulse_us)"):
        out.line(f"static uint8_t channel = {LAST_CHANNEL}u;")
        out.line()
        out.line(f"(void)ledcAttachChannel(pin, {1_000_000 // FRAME_US}u, 14u, channel);")
        out.line("channel--;")
        out.line("turn_servo(pin, pulse_us);")


def _by_slices(out: CWriter) -> None:
    out.comment(
        "Servos: the chip's own PWM counts microseconds, and begins a pulse every "
        f"{FRAME_US // 1000} ms."
    )
    with out.function("static void turn_servo(uint8_t pin, uint16_t pulse_us)"):
        out.line("pwm_set_gpio_level(pin, pulse_us);")
    with out.function("static void begin_servo(uint8_t pin, uint16_t pulse_us)"):
        out.line("const unsigned int slice = pwm_gpio_to_slice_num(pin);")
        out.line("const uint32_t megahertz = clock_get_hz(clk_sys) / 1000000u;")
        out.line()
        out.line("pwm_set_clkdiv_int_frac(slice, (uint8_t)megahertz, 0u);")
        out.line(f"pwm_set_wrap(slice, {FRAME_US - 1}u);")
        out.line("turn_servo(pin, pulse_us);")
        out.line("pwm_set_enabled(slice, true);")
        out.line("gpio_set_function(pin, GPIO_FUNC_PWM);")
