/* A board for the carousel on a Uno, as a coder might write it by hand. */
#include <Arduino.h>

#include "confetti_carousel_board.h"
#include "confetti_carousel_drum_steps.h"
#include "confetti_carousel_settings.h"

static const uint8_t OUTPUTS[] = {5, 6, 7, 8, 9, 10, 11, 12};
static uint32_t next_us;

void confetti_carousel_board_begin(void) {
    for (uint8_t pin : OUTPUTS) {
        digitalWrite(pin, LOW);
        pinMode(pin, OUTPUT);
    }
    pinMode(CONFETTI_CAROUSEL_LID_PIN, INPUT_PULLUP);
    pinMode(CONFETTI_CAROUSEL_TRIGGER_PIN, INPUT_PULLUP);
    pinMode(CONFETTI_CAROUSEL_MARK_PIN, INPUT_PULLUP);
    Serial.begin(115200);
}

enum confetti_carousel_lid confetti_carousel_board_read_lid(void) {
    return digitalRead(CONFETTI_CAROUSEL_LID_PIN) == LOW ? CONFETTI_CAROUSEL_LID_CLOSED
                                                         : CONFETTI_CAROUSEL_LID_OPEN;
}

enum confetti_carousel_trigger confetti_carousel_board_read_trigger(void) {
    return digitalRead(CONFETTI_CAROUSEL_TRIGGER_PIN) == LOW ? CONFETTI_CAROUSEL_TRIGGER_PRESSED
                                                             : CONFETTI_CAROUSEL_TRIGGER_RELEASED;
}

enum confetti_carousel_mark confetti_carousel_board_read_mark(void) {
    return digitalRead(CONFETTI_CAROUSEL_MARK_PIN) == LOW ? CONFETTI_CAROUSEL_MARK_MADE
                                                          : CONFETTI_CAROUSEL_MARK_CLEAR;
}

void confetti_carousel_board_drive_drum(enum confetti_carousel_drum value) {
    if (value == CONFETTI_CAROUSEL_DRUM_STOPPED) {
        confetti_carousel_drum_steps_rest();
    } else if (confetti_carousel_drum_steps_is_resting()) {
        digitalWrite(CONFETTI_CAROUSEL_DRUM_DIR_PIN, value == CONFETTI_CAROUSEL_DRUM_FORWARD);
        confetti_carousel_drum_steps_turn();
        next_us = micros();
    }
    digitalWrite(CONFETTI_CAROUSEL_DRUM_ENABLE_PIN, value != CONFETTI_CAROUSEL_DRUM_STOPPED);
}

void confetti_carousel_board_drive_valve(enum confetti_carousel_valve value) {
    digitalWrite(CONFETTI_CAROUSEL_VALVE_PIN, value == CONFETTI_CAROUSEL_VALVE_OPEN);
}

void confetti_carousel_board_drive_lamp(enum confetti_carousel_lamp value) {
    digitalWrite(CONFETTI_CAROUSEL_LAMP_GREEN_PIN, value == CONFETTI_CAROUSEL_LAMP_GREEN);
    digitalWrite(CONFETTI_CAROUSEL_LAMP_AMBER_PIN, value == CONFETTI_CAROUSEL_LAMP_AMBER);
    digitalWrite(CONFETTI_CAROUSEL_LAMP_RED_PIN, value == CONFETTI_CAROUSEL_LAMP_RED);
    digitalWrite(CONFETTI_CAROUSEL_LAMP_WHITE_PIN, value == CONFETTI_CAROUSEL_LAMP_WHITE);
}

void confetti_carousel_board_write(const char *text) { Serial.print(text); }

uint32_t confetti_carousel_board_now_ms(void) { return millis(); }

bool confetti_carousel_board_goes_on(void) {
    static uint32_t last_ms;
    const uint32_t until_ms = last_ms + CONFETTI_CAROUSEL_LOOP_MS;

    while ((int32_t)(millis() - until_ms) < 0) {
        if (!confetti_carousel_drum_steps_is_resting() && (int32_t)(micros() - next_us) >= 0) {
            next_us += confetti_carousel_drum_steps_next();
            digitalWrite(CONFETTI_CAROUSEL_DRUM_STEP_PIN, HIGH);
            digitalWrite(CONFETTI_CAROUSEL_DRUM_STEP_PIN, LOW);
        }
    }
    last_ms = until_ms;
    return true;
}
