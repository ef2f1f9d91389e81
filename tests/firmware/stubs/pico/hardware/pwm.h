/* A stub: see README.md. */
#ifndef HARDWARE_PWM_H
#define HARDWARE_PWM_H
#include <stdbool.h>
#include <stdint.h>
#ifdef __cplusplus
extern "C" {
#endif
unsigned int pwm_gpio_to_slice_num(unsigned int pin);
void pwm_set_clkdiv_int_frac(unsigned int slice, uint8_t whole, uint8_t parts);
void pwm_set_wrap(unsigned int slice, uint16_t wrap);
void pwm_set_gpio_level(unsigned int pin, uint16_t level);
void pwm_set_enabled(unsigned int slice, bool on);
#ifdef __cplusplus
}
#endif
#endif
