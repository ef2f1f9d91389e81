/* A stub: see README.md. */
#ifndef HARDWARE_CLOCKS_H
#define HARDWARE_CLOCKS_H
#include <stdint.h>
enum clock_index { clk_sys = 5 };
#ifdef __cplusplus
extern "C" {
#endif
uint32_t clock_get_hz(enum clock_index clock);
#ifdef __cplusplus
}
#endif
#endif
