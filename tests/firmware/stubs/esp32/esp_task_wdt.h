/* A stub: see README.md. */
#ifndef ESP_TASK_WDT_H
#define ESP_TASK_WDT_H
#include <stdbool.h>
#include <stdint.h>
typedef struct {
    uint32_t timeout_ms;
    uint32_t idle_core_mask;
    bool trigger_panic;
} esp_task_wdt_config_t;
#ifdef __cplusplus
extern "C" {
#endif
int esp_task_wdt_reconfigure(const esp_task_wdt_config_t *config);
int esp_task_wdt_add(void *task);
int esp_task_wdt_reset(void);
#ifdef __cplusplus
}
#endif
#endif
