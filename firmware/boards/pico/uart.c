/* The host's other way in, 115200 baud: for a bench, and for a board whose USB does not work. */
#include "board.h"
#include "registers.h"

#define DATA REG(UART0)
#define FLAGS REG(UART0 + 0x18)
enum { RX_EMPTY = 1 << 4, TX_FULL = 1 << 5 };

static uint8_t waiting_bytes[2048], received_bytes[512];
static struct Queue waiting = {waiting_bytes, sizeof waiting_bytes, 0, 0};
static struct Queue received = {received_bytes, sizeof received_bytes, 0, 0};

void uart_start(void) {
  SET(RESETS) = RESET_UART0;
  unreset(RESET_UART0);
  REG(UART0 + 0x24) = 67; /* 125 MHz / 16 / 115200 = 67 + 52/64 */
  REG(UART0 + 0x28) = 52;
  REG(UART0 + 0x2c) = 0x70; /* 8 bits, queues on */
  REG(UART0 + 0x38) = 0x50; /* half a queue, or a few bytes and then a pause */
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
    queue_put(&received, &byte, 1);
  }
  REG(UART0 + 0x44) = 0x7ff;
}

bool uart_has_received(void) { return queue_count(&received) > 0; }

void uart_poll(void) {
  while (queue_count(&received) > 0 && queue_count(&from_host) < from_host.size) {
    const uint8_t byte = queue_get(&received);
    queue_put(&from_host, &byte, 1);
  }
  while (queue_count(&waiting) > 0 && !(FLAGS & TX_FULL)) DATA = queue_get(&waiting);
}

bool uart_send(const uint8_t *bytes, size_t count) { return queue_put(&waiting, bytes, count); }
