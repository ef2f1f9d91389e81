/* A stub of the ESP32's Arduino core, version 3: see README.md. */
#ifndef ARDUINO_H
#define ARDUINO_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "binary.h"

#define ESP_ARDUINO_VERSION_MAJOR 3

#define LOW 0x0
#define HIGH 0x1
#define INPUT 0x01
#define OUTPUT 0x03
#define INPUT_PULLUP 0x05
#define INPUT_PULLDOWN 0x09

#ifdef __cplusplus
extern "C" {
#endif

void pinMode(uint8_t pin, uint8_t mode);
void digitalWrite(uint8_t pin, uint8_t level);
int digitalRead(uint8_t pin);
uint16_t analogRead(uint8_t pin);
void analogWrite(uint8_t pin, int value);
unsigned long millis(void);
unsigned long micros(void);
void delayMicroseconds(uint32_t us);
bool ledcAttachChannel(uint8_t pin, uint32_t hertz, uint8_t bits, uint8_t channel);
bool ledcWrite(uint8_t pin, uint32_t duty);

#ifdef __cplusplus
}
#endif

#include "serial.h"

#endif
