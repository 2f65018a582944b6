/* The registers of the RP2040 that this board layer uses (RP2040 data sheet, chapter 2 to 4). */
#pragma once
#include <stdbool.h>
#include <stdint.h>

#define REG(address) (*(volatile uint32_t *)(address))
/* Aliases of a peripheral's register that set or clear the bits written as ones. */
#define SET(address) REG((address) + 0x2000)
#define CLEAR(address) REG((address) + 0x3000)

#define CLOCKS 0x40008000u
#define RESETS 0x4000c000u
#define PSM 0x40010000u
#define IO_BANK0 0x40014000u
#define PADS_BANK0 0x4001c000u
#define XOSC 0x40024000u
#define PLL_SYS 0x40028000u
#define PLL_USB 0x4002c000u
#define UART0 0x40034000u
#define I2C0 0x40044000u
#define PWM 0x40050000u
#define TIMER 0x40054000u
#define WATCHDOG 0x40058000u
#define USB_DPRAM 0x50100000u
#define USB 0x50110000u
#define SIO 0xd0000000u
#define NVIC_ENABLE REG(0xe000e100u)
#define NVIC_PEND REG(0xe000e200u)
#define NVIC_DISABLE REG(0xe000e180u)
#define NVIC_UNPEND REG(0xe000e280u)

#define RESET_I2C0 (1u << 3)
#define RESET_IO_BANK0 (1u << 5)
#define RESET_PADS_BANK0 (1u << 8)
#define RESET_PLL_SYS (1u << 12)
#define RESET_PLL_USB (1u << 13)
#define RESET_PWM (1u << 14)
#define RESET_TIMER (1u << 21)
#define RESET_UART0 (1u << 22)
#define RESET_USB (1u << 24)

#define IRQ_TIMER_0 (1u << 0)
#define IRQ_USB (1u << 5)
#define IRQ_UART0 (1u << 20)

#define GPIO_IN REG(SIO + 0x04)
#define GPIO_OUT_SET REG(SIO + 0x14)
#define GPIO_OUT_CLEAR REG(SIO + 0x18)
#define GPIO_DRIVE_SET REG(SIO + 0x24)
#define GPIO_DRIVE_CLEAR REG(SIO + 0x28)
#define GPIO_FUNCTION(pin) REG(IO_BANK0 + 8 * (pin) + 4)
#define GPIO_PAD(pin) REG(PADS_BANK0 + 4 * (pin) + 4)
enum { FUNCTION_UART = 2, FUNCTION_I2C = 3, FUNCTION_PWM = 4, FUNCTION_SIO = 5 };
/* Input enabled, Schmitt trigger, 4 mA, and the pull. */
enum { PAD_PULL_UP = 0x5a, PAD_PULL_DOWN = 0x56 };

static inline bool is_high(uint32_t pin) { return GPIO_IN >> pin & 1; }
static inline uint32_t micros(void) { return REG(TIMER + 0x28); }
/* Blocks of the chip as they are after a reset, and running. */
static inline void start_afresh(uint32_t blocks) {
  SET(RESETS) = blocks;
  CLEAR(RESETS) = blocks;
  while ((REG(RESETS + 8) & blocks) != blocks) {}
}
