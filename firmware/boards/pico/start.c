/* From reset to main, clocks, watchdog, sleep, and the ways out: crash and restart. */
#include "board.h"
#include <string.h>

enum { WATCHDOG_US = 500000, CRYSTAL_MHZ = 12 };
#define WATCHDOG_CONTROL REG(WATCHDOG)
#define WATCHDOG_LOAD REG(WATCHDOG + 0x04)
#define WATCHDOG_REASON REG(WATCHDOG + 0x08)
/* Survives every reset but that by power; the boot ROM uses only the upper four. */
#define KEPT_CAUSE REG(WATCHDOG + 0x0c)
#define CAUSE_MARK 0x53570000u
#define STACK_MARK 0x5a5a5a5au

extern uint32_t data_start[], data_end[], data_image[], bss_start[], bss_end[], stack_end[], stack_top[];
int main(void);

__attribute__((section(".kept"))) uint8_t unique_number[8];
/* For whoever looks with a debugger; what the host needs to know is the number of the fault. */
__attribute__((section(".kept"))) char crash_text[120];
enum Cause reset_cause;

static void laser_off(void) {
  start_afresh(RESET_IO_BANK0 | RESET_PADS_BANK0);
  GPIO_OUT_CLEAR = 1u << PIN_LASER;
  GPIO_DRIVE_SET = 1u << PIN_LASER;
  GPIO_FUNCTION(PIN_LASER) = FUNCTION_SIO;
  GPIO_PAD(PIN_LASER) = PAD_PULL_DOWN;
}

static void start_pll(uint32_t pll, uint32_t multiply, uint32_t divide_1, uint32_t divide_2) {
  REG(pll) = 1;
  REG(pll + 8) = multiply;
  CLEAR(pll + 4) = 0x21; /* main power and oscillator */
  while (!(REG(pll) & 1u << 31)) {}
  REG(pll + 12) = divide_1 << 16 | divide_2 << 12;
  CLEAR(pll + 4) = 0x08;
}

/* System and peripherals 125 MHz, USB 48 MHz, all from the crystal. */
static void start_clocks(void) {
  REG(XOSC + 0x0c) = 47; /* about 1 ms in units of 256 periods */
  REG(XOSC) = 0xfabaa0;
  while (!(REG(XOSC + 4) & 1u << 31)) {}
  REG(CLOCKS + 0x30) = 2; /* reference: crystal */
  while (!(REG(CLOCKS + 0x38) & 1u << 2)) {}
  REG(CLOCKS + 0x3c) = 0; /* system: reference, until its PLL runs */
  while (!(REG(CLOCKS + 0x44) & 1u << 0)) {}
  start_afresh(RESET_PLL_SYS | RESET_PLL_USB);
  start_pll(PLL_SYS, 125, 6, 2);
  start_pll(PLL_USB, 100, 5, 5);
  REG(CLOCKS + 0x3c) = 1;
  while (!(REG(CLOCKS + 0x44) & 1u << 1)) {}
  REG(CLOCKS + 0x48) = 1u << 11;
  REG(CLOCKS + 0x54) = 1u << 11;
  REG(WATCHDOG + 0x2c) = 1u << 9 | CRYSTAL_MHZ; /* also the timer's microseconds */
}

static void start_watchdog(void) {
  /* The boot ROM uses the watchdog as well, to start a program that was just laid into the flash: there is no mark then. */
  const bool known = WATCHDOG_REASON != 0 && (KEPT_CAUSE & 0xffff0000u) == CAUSE_MARK;
  reset_cause = known ? (enum Cause)(KEPT_CAUSE & 0xff) : POWER;
  KEPT_CAUSE = CAUSE_MARK | STOOD_STILL; /* unless whoever restarts says otherwise */
  if (reset_cause == POWER) memset(crash_text, 0, sizeof crash_text);
  /* All but the two oscillators, so that the pads float and the laser's pull-down wins at once. */
  REG(PSM + 8) = 0x1fffc;
  watchdog_feed();
  WATCHDOG_CONTROL = 1u << 30;
}

__attribute__((noreturn)) void reset(void) {
  __asm volatile("cpsid i");
  laser_off();
  memcpy(data_start, data_image, (size_t)((char *)data_end - (char *)data_start));
  memset(bss_start, 0, (size_t)((char *)bss_end - (char *)bss_start));
  *stack_end = STACK_MARK;
  start_clocks();
  start_afresh(RESET_TIMER);
  start_watchdog();
  __asm volatile("cpsie i");
  main();
  crash("main returned");
}

void watchdog_feed(void) { WATCHDOG_LOAD = WATCHDOG_US * 2; /* counts twice a microsecond, erratum E1 */ }

_Noreturn void restart(enum Cause why) {
  GPIO_OUT_CLEAR = 1u << PIN_LASER;
  KEPT_CAUSE = CAUSE_MARK | why;
  SET(WATCHDOG) = 1u << 31;
  for (;;) {}
}

_Noreturn void crash(const char *why) {
  GPIO_OUT_CLEAR = 1u << PIN_LASER;
  strncpy(crash_text, why, sizeof crash_text - 1);
  restart(CRASHED);
}

/* Asks the boot ROM (data sheet, 2.8.3) for its USB drive. */
_Noreturn void restart_to_update(void) {
  GPIO_OUT_CLEAR = 1u << PIN_LASER;
  WATCHDOG_CONTROL = 0;
  KEPT_CAUSE = CAUSE_MARK | ASKED;
  typedef void (*UsbDrive)(uint32_t activity_pin, uint32_t disable);
  typedef UsbDrive (*Lookup)(uint32_t table, uint32_t code);
  volatile uint16_t *const rom = (uint16_t *)0x10;
  const UsbDrive usb_drive = ((Lookup)(uintptr_t)rom[4])(rom[2], 'U' | 'B' << 8);
  usb_drive(0, 0);
  restart(ASKED);
}

/*
 * Only the UART interrupts the program. Timer and USB end the sleep, and are polled; interrupts are masked around it, so
 * that nothing can come in between the look and the sleep.
 */
void sleep_until(uint32_t until_us) {
  __asm volatile("cpsid i");
  REG(TIMER + 0x38) = 1;
  REG(TIMER + 0x10) = until_us; /* an alarm for a time that is over would come when the clock has wrapped */
  NVIC_ENABLE = IRQ_TIMER_0 | IRQ_USB;
  const bool is_ahead = (int32_t)(until_us - micros()) > 0 && (REG(TIMER + 0x20) & 1);
  if (is_ahead && queue_count(&from_host) == 0) __asm volatile("wfi");
  NVIC_DISABLE = IRQ_TIMER_0 | IRQ_USB;
  REG(TIMER + 0x20) = 1;
  REG(TIMER + 0x34) = 1;
  NVIC_UNPEND = IRQ_TIMER_0 | IRQ_USB;
  __asm volatile("cpsie i");
}

bool stack_is_whole(void) { return *stack_end == STACK_MARK; }

static void ignore(void) {}
static void hard_fault(void) { crash("hard fault"); }

__attribute__((section(".vectors"), used)) void *const vectors[48] = {
    stack_top, reset, ignore, hard_fault, [11] = ignore, [14] = ignore, [15] = ignore, [16 ... 35] = ignore, [37 ... 47] = ignore,
    [16 + 20 /* UART0 */] = uart_interrupt,
};
