/* A stub: see README.md. */
#ifndef HARDWARE_WATCHDOG_H
#define HARDWARE_WATCHDOG_H
#include <stdbool.h>
#include <stdint.h>
#ifdef __cplusplus
extern "C" {
#endif
void watchdog_enable(uint32_t ms, bool pauses);
void watchdog_update(void);
#ifdef __cplusplus
}
#endif
#endif
