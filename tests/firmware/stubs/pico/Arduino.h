/* A stub of the Pico's Arduino core, whose pins take enums: see README.md. */
#ifndef ARDUINO_H
#define ARDUINO_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "binary.h"

typedef uint8_t pin_size_t;
typedef enum { LOW = 0, HIGH = 1 } PinStatus;
typedef enum { INPUT = 0, OUTPUT = 1, INPUT_PULLUP = 2, INPUT_PULLDOWN = 3 } PinMode;

#ifdef __cplusplus
extern "C" {
#endif

void pinMode(pin_size_t pin, PinMode mode);
void digitalWrite(pin_size_t pin, PinStatus level);
PinStatus digitalRead(pin_size_t pin);
int analogRead(pin_size_t pin);
void analogWrite(pin_size_t pin, int value);
unsigned long millis(void);
unsigned long micros(void);
void delayMicroseconds(unsigned int us);

#ifdef __cplusplus
}
#endif

#include "serial.h"

#endif
