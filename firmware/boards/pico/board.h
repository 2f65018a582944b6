/* What the files of this board layer offer each other. */
#pragma once
#include <stddef.h>
#include "registers.h"

/* Wiring; hardware-notes has the drawing. Nothing is connected to the pins that are not named. */
enum {
  PIN_UART_TX = 0,
  PIN_UART_RX = 1,
  PIN_LASER = 2, /* high: lit; pulled down outside as well */
  PIN_HEAD = 3,  /* contact to ground: closed in the low position */
  PIN_SDA = 4,
  PIN_SCL = 5,
  PIN_BUTTON = 6, /* to ground */
  PIN_RED = 10,   /* PWM 5 A, 5 B and 6 A */
  PIN_GREEN = 11,
  PIN_BLUE = 12,
};

/* start.c */
enum Cause { POWER = 0, ASKED = 1, STOOD_STILL = 2, CRASHED = 3 };
extern enum Cause reset_cause;
/* Neither returns. `crash` puts the laser out first and keeps `why` over the restart. */
_Noreturn void restart(enum Cause cause);
_Noreturn void crash(const char *why);
_Noreturn void restart_to_update(void);
void watchdog_feed(void);
/* Sleeps until `until_us` or until something comes in, whichever is first. */
void sleep_until(uint32_t until_us);
bool stack_is_whole(void);
extern uint8_t unique_number[8];

/* i2c.c */
void i2c_start(void);
/* Writes `write_count` bytes, then reads `read_count`; false: no answer, or the bus is held. */
bool i2c_transfer(uint8_t address, const uint8_t *write, size_t write_count, uint8_t *read, size_t read_count);
bool i2c_recover(void);

/* uart.c and usb.c fill `from_host` and empty `to_host`; the UART does so in its interrupt, and while USB is closed. */
void uart_start(void);
void uart_interrupt(void);
/* Somebody has spoken there since the start. */
extern volatile bool uart_is_open;
void uart_send(void);
void usb_start(const char *serial_number);
void usb_poll(void);
/* A program on the host has the port open. */
bool usb_is_open(void);
bool usb_is_flushed(void);

/* chunk.S: what the board runs. The chunk's bytes follow the instructions. */
extern const struct {
  uint32_t code_bytes, chunk_bytes;
  uint32_t code[];
} firmware;
static inline bool is_in_flash(const void *at) { return (uintptr_t)at >> 28 == 1; }

/* A ring of bytes. */
struct Queue {
  uint8_t *bytes;
  uint32_t size; /* a power of two */
  uint32_t put, got;
};
extern struct Queue from_host, to_host;
static inline uint32_t queue_count(const struct Queue *q) { return q->put - q->got; }
static inline bool queue_put(struct Queue *q, const uint8_t *bytes, size_t count) {
  if (q->size - queue_count(q) < count) return false;
  for (size_t i = 0; i < count; i++) q->bytes[(q->put + i) & (q->size - 1)] = bytes[i];
  __asm volatile("" ::: "memory"); /* whoever gets in an interrupt finds the bytes there */
  q->put += count;
  return true;
}
static inline uint8_t queue_get(struct Queue *q) { return q->bytes[q->got++ & (q->size - 1)]; }
