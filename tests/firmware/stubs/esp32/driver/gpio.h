/* A stub: see README.md. */
#ifndef DRIVER_GPIO_H
#define DRIVER_GPIO_H
#include <stdint.h>
typedef enum { GPIO_NUM_0, GPIO_NUM_MAX = 40 } gpio_num_t;
typedef int esp_err_t;
#ifdef __cplusplus
extern "C" {
#endif
esp_err_t gpio_set_level(gpio_num_t pin, uint32_t level);
#ifdef __cplusplus
}
#endif
#endif
