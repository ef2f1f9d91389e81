/* A stub: see README.md. */
#ifndef HARDWARE_GPIO_H
#define HARDWARE_GPIO_H
#include <stdbool.h>
enum gpio_function { GPIO_FUNC_PWM = 4, GPIO_FUNC_SIO = 5 };
#ifdef __cplusplus
extern "C" {
#endif
void gpio_init(unsigned int pin);
void gpio_put(unsigned int pin, bool level);
void gpio_set_dir(unsigned int pin, bool out);
void gpio_set_function(unsigned int pin, enum gpio_function function);
#ifdef __cplusplus
}
#endif
#endif
