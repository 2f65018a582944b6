/* The host's other way in, 115200 baud: for a bench, and for a board whose USB does not work. */
#include "board.h"

#define DATA REG(UART0)
#define FLAGS REG(UART0 + 0x18)
#define MASK REG(UART0 + 0x38)
enum { RX_EMPTY = 1 << 4, TX_FULL = 1 << 5 };
enum { RECEIVING = 0x50, SENDING = 0x20 }; /* half a queue came, or a few bytes and then a pause; half a queue went */

volatile bool uart_is_open;

void uart_start(void) {
  start_afresh(RESET_UART0);
  REG(UART0 + 0x24) = 67; /* 125 MHz / 16 / 115200 = 67 + 52/64 */
  REG(UART0 + 0x28) = 52;
  REG(UART0 + 0x2c) = 0x70; /* 8 bits, queues on */
  MASK = RECEIVING;
  REG(UART0 + 0x30) = 0x301;
  GPIO_FUNCTION(PIN_UART_TX) = FUNCTION_UART;
  GPIO_FUNCTION(PIN_UART_RX) = FUNCTION_UART;
  GPIO_PAD(PIN_UART_RX) = PAD_PULL_UP;
  NVIC_ENABLE = IRQ_UART0;
}

/* The hardware keeps 32 bytes, 2.8 ms; Lua may be busy for longer. */
void uart_interrupt(void) {
  while (!(FLAGS & RX_EMPTY)) {
    const uint8_t byte = (uint8_t)DATA;
    queue_put(&from_host, &byte, 1);
    uart_is_open = true;
  }
  while (!usb_is_open() && queue_count(&to_host) > 0 && !(FLAGS & TX_FULL)) DATA = queue_get(&to_host);
  REG(UART0 + 0x44) = 0x7ff;
  if (usb_is_open() || queue_count(&to_host) == 0) MASK = RECEIVING;
}

void uart_send(void) {
  MASK = RECEIVING | SENDING;
  NVIC_PEND = IRQ_UART0;
}
