#include "confetti_carousel_board.h"

static struct confetti_carousel prop;

void setup() {
    confetti_carousel_power_up(&prop, confetti_carousel_board_now_ms());
    confetti_carousel_trace(&prop, confetti_carousel_board_now_ms());
}

void loop() {
    if (confetti_carousel_board_goes_on()) {
        const uint32_t now_ms = confetti_carousel_board_now_ms();
        confetti_carousel_step(&prop, now_ms);
        confetti_carousel_trace(&prop, now_ms);
    }
}
