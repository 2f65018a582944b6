/* The two-wire bus at 400 kHz: the controller's own transactions, and its pins by hand to free a held bus. */
#include "board.h"

enum { US_PER_BYTE_MAX = 100, US_MAX = 1000, FIFO_BYTES = 16, CLOCKS_TO_FREE = 9, HALF_PERIOD_US = 5 };
enum { COMMAND_READ = 1 << 8, COMMAND_STOP = 1 << 9, COMMAND_RESTART = 1 << 10 };
#define CONTROL REG(I2C0)
#define TARGET REG(I2C0 + 0x04)
#define DATA REG(I2C0 + 0x10)
#define RAW_STATUS REG(I2C0 + 0x34)
#define CLEAR_ALL REG(I2C0 + 0x40)
#define ENABLE REG(I2C0 + 0x6c)
#define TX_LEVEL REG(I2C0 + 0x74)
#define RX_LEVEL REG(I2C0 + 0x78)
enum { ABORTED = 1 << 6, STOPPED = 1 << 9 };

void i2c_start(void) {
  start_afresh(RESET_I2C0);
  ENABLE = 0;
  CONTROL = 1 | 2 << 1 | 1 << 5 | 1 << 6 | 1 << 8; /* host, fast, repeated starts, no target */
  REG(I2C0 + 0x1c) = 125;                          /* high for 1.0 us of 125 MHz */
  REG(I2C0 + 0x20) = 187;                          /* low for 1.5 us */
  REG(I2C0 + 0x7c) = 39;                           /* data hold for 0.3 us after the clock has fallen */
  REG(I2C0 + 0xa0) = 6;                            /* spikes up to 50 ns are filtered */
  GPIO_PAD(PIN_SDA) = GPIO_PAD(PIN_SCL) = PAD_PULL_UP;
  GPIO_FUNCTION(PIN_SDA) = GPIO_FUNCTION(PIN_SCL) = FUNCTION_I2C;
}

bool i2c_transfer(uint8_t address, const uint8_t *write, size_t write_count, uint8_t *read, size_t read_count) {
  const size_t total = write_count + read_count;
  const uint32_t started = micros(), limit = US_MAX + US_PER_BYTE_MAX * (total + 2);
  size_t asked = 0, got = 0;
  ENABLE = 0;
  TARGET = address;
  ENABLE = 1;
  (void)CLEAR_ALL;
  while (micros() - started < limit) {
    const uint32_t status = RAW_STATUS;
    if (RX_LEVEL > 0) {
      read[got++] = (uint8_t)DATA;
    } else if (status & STOPPED) { /* an aborted transaction ends with a stop as well */
      return !(status & ABORTED);
    } else if (asked < total && TX_LEVEL < FIFO_BYTES && (asked < write_count || asked - write_count - got < FIFO_BYTES)) {
      uint32_t command = asked < write_count ? write[asked] : COMMAND_READ;
      if (asked == write_count && write_count > 0) command |= COMMAND_RESTART;
      if (++asked == total) command |= COMMAND_STOP;
      DATA = command;
    }
  }
  i2c_start();
  return false;
}

/* A pin is let go or pulled low, never driven high. */
static void pull(uint32_t pin, bool low) {
  if (low) GPIO_DRIVE_SET = 1u << pin;
  else GPIO_DRIVE_CLEAR = 1u << pin;
  for (uint32_t started = micros(); micros() - started < HALF_PERIOD_US;) {}
}

bool i2c_recover(void) {
  if (is_high(PIN_SDA) && is_high(PIN_SCL)) return true;
  GPIO_OUT_CLEAR = 1u << PIN_SDA | 1u << PIN_SCL;
  pull(PIN_SDA, false);
  pull(PIN_SCL, false);
  GPIO_FUNCTION(PIN_SDA) = GPIO_FUNCTION(PIN_SCL) = FUNCTION_SIO;
  for (int i = 0; i < CLOCKS_TO_FREE && !is_high(PIN_SDA); i++) {
    pull(PIN_SCL, true);
    pull(PIN_SCL, false);
  }
  const bool free = is_high(PIN_SDA) && is_high(PIN_SCL);
  /* A stop, so that whoever held the bus forgets where it was. */
  pull(PIN_SDA, true);
  pull(PIN_SDA, false);
  i2c_start();
  return free;
}
