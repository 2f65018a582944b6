/*
 * A serial port over USB (CDC, abstract control model; USB 2.0 chapter 9 and the class's PSTN subclass), polled. Registers:
 * RP2040 data sheet, 4.1.
 */
#include "board.h"
#include "registers.h"
#include <string.h>

#define ADDRESS REG(USB)
#define MAIN_CONTROL REG(USB + 0x40)
#define LINE_CONTROL REG(USB + 0x4c)
#define LINE_STATUS REG(USB + 0x50)
#define BUFFERS_DONE REG(USB + 0x58)
#define STALL_CONTROL_ENDPOINT REG(USB + 0x68)
#define MUXING REG(USB + 0x74)
#define POWER_SENSE REG(USB + 0x78)
#define WAKE REG(USB + 0x90)
enum { SETUP_CAME = 1 << 17, BUS_RESET = 1 << 19 };
enum { FULL = 1 << 15, DATA1 = 1 << 13, STALL = 1 << 11, AVAILABLE = 1 << 10, LENGTH = 0x3ff };
enum { CONTROL_IN, CONTROL_OUT, NOTICE_IN, NOTICE_OUT, BULK_IN, BULK_OUT }; /* as in BUFFERS_DONE */
enum { PACKET = 64, NOTICE_PACKET = 8 };

#define BUFFER_CONTROL(end) REG(USB_DPRAM + 0x80 + 4 * (end))
#define ENDPOINT_CONTROL(end) REG(USB_DPRAM + 4 * (end))
#define BUFFER(end) ((volatile uint8_t *)(USB_DPRAM + buffer_at[end]))
static const uint16_t buffer_at[] = {0x100, 0x100, 0x180, 0, 0x1c0, 0x200};

static const uint8_t device[] = {
    18, 1, 0x00, 0x02, 2, 0, 0, PACKET, /* USB 2.0; the class is communications */
    0x09, 0x12, 0x01, 0x00,             /* 1209:0001, from memory: the number that pid.codes sets aside for tests */
    0x00, 0x01, 1, 2, 3, 1,
};
static const uint8_t configuration[] = {
    9, 2, 67, 0, 2, 1, 0, 0x80, 250,                    /* two interfaces, bus powered, 500 mA */
    9, 4, 0, 0, 1, 2, 2, 0, 0,                          /* interface 0: control model */
    5, 0x24, 0, 0x10, 0x01,                             /* class release 1.10 */
    5, 0x24, 1, 0, 1,                                   /* no call management */
    4, 0x24, 2, 2,                                      /* line coding and control line state */
    5, 0x24, 6, 0, 1,                                   /* interface 1 carries the data */
    7, 5, 0x81, 3, NOTICE_PACKET, 0, 16,                /* notices, which never come */
    9, 4, 1, 0, 2, 10, 0, 0, 0,                         /* interface 1: data */
    7, 5, 0x02, 2, PACKET, 0, 0, 7, 5, 0x82, 2, PACKET, 0, 0,
};
static const char *texts[] = {NULL, "Swathplane", "Swathplane fixture", NULL};

static uint8_t out_bytes[2048];
static struct Queue out = {out_bytes, sizeof out_bytes, 0, 0};
static bool next_is_data1[6];
static bool sending, received;
static bool configured, terminal_ready;
static uint8_t new_address;
static const uint8_t line_coding[] = {0x00, 0xc2, 0x01, 0x00, 0, 0, 8}; /* 115200 8N1; it means nothing here */
static uint8_t answer[PACKET + 8];
static size_t answer_size, answer_sent;

/* The two bits of ownership have to arrive last (data sheet, 4.1.2.5.1): the other clock may see a write late. */
static void offer(int end, uint32_t value) {
  if (next_is_data1[end]) value |= DATA1;
  next_is_data1[end] = !next_is_data1[end];
  BUFFER_CONTROL(end) = value;
  for (int i = 0; i < 12; i++) __asm volatile("nop");
  BUFFER_CONTROL(end) = value | AVAILABLE;
}

static void give(int end, const uint8_t *bytes, size_t count) {
  for (size_t i = 0; i < count; i++) BUFFER(end)[i] = bytes[i];
  offer(end, FULL | count);
}

static void give_more_answer(void) {
  const size_t left = answer_size - answer_sent, count = left < PACKET ? left : PACKET;
  give(CONTROL_IN, answer + answer_sent, count);
  answer_sent += count;
}

static void reply(const void *bytes, size_t count, size_t wanted) {
  answer_size = count < wanted ? count : wanted;
  answer_sent = 0;
  memcpy(answer, bytes, answer_size);
  give_more_answer();
}

static void acknowledge(void) { give(CONTROL_IN, NULL, 0); }

static void refuse(void) {
  STALL_CONTROL_ENDPOINT = 3;
  BUFFER_CONTROL(CONTROL_IN) = STALL;
  BUFFER_CONTROL(CONTROL_OUT) = STALL;
}

static void reply_text(uint8_t number, size_t wanted) {
  uint8_t text[PACKET] = {4, 3, 0x09, 0x04};
  if (number > 3) return refuse();
  if (number > 0) {
    const size_t length = strlen(texts[number]);
    text[0] = (uint8_t)(2 + 2 * length);
    for (size_t i = 0; i < length; i++) text[2 + 2 * i] = (uint8_t)texts[number][i], text[3 + 2 * i] = 0;
  }
  reply(text, text[0], wanted);
}

static void restart_end(int end) {
  next_is_data1[end] = false;
  if (end == BULK_OUT) {
    received = false;
    offer(BULK_OUT, PACKET);
  } else {
    sending = false;
  }
}

static void configure(bool on) {
  configured = on;
  terminal_ready = false;
  if (!on) return;
  const uint32_t enabled = 1u << 31 | 1u << 29;
  ENDPOINT_CONTROL(NOTICE_IN) = enabled | 3u << 26 | buffer_at[NOTICE_IN];
  ENDPOINT_CONTROL(BULK_IN) = enabled | 2u << 26 | buffer_at[BULK_IN];
  ENDPOINT_CONTROL(BULK_OUT) = enabled | 2u << 26 | buffer_at[BULK_OUT];
  restart_end(BULK_IN);
  restart_end(BULK_OUT);
}

static void set_terminal_ready(bool ready) {
  if (ready && !terminal_ready) out.got = out.put;
  terminal_ready = ready;
}

static void take_setup(void) {
  uint8_t setup[8];
  for (int i = 0; i < 8; i++) setup[i] = ((volatile uint8_t *)USB_DPRAM)[i];
  const uint16_t value = setup[2] | setup[3] << 8, wanted = setup[6] | setup[7] << 8;
  const uint8_t one = configured ? 1 : 0, zeros[2] = {0, 0};
  next_is_data1[CONTROL_IN] = next_is_data1[CONTROL_OUT] = true;
  answer_size = answer_sent = 0;
  switch (setup[0] << 8 | setup[1]) {
    case 0x8006: /* get descriptor */
      if (setup[3] == 1) return reply(device, sizeof device, wanted);
      if (setup[3] == 2) return reply(configuration, sizeof configuration, wanted);
      if (setup[3] == 3) return reply_text(setup[2], wanted);
      return refuse();
    case 0x0005: new_address = (uint8_t)value; return acknowledge();
    case 0x0009: configure(value == 1); return acknowledge();
    case 0x8008: return reply(&one, 1, wanted); /* get configuration */
    case 0x8000: case 0x8100: case 0x8200: case 0x810a: return reply(zeros, 2, wanted); /* get status, get interface */
    case 0x0201: /* clear halt */
      if (setup[4] == 0x82) restart_end(BULK_IN);
      if (setup[4] == 0x02) restart_end(BULK_OUT);
      return acknowledge();
    case 0x0001: case 0x0003: case 0x010b: case 0x2123: return acknowledge();
    case 0xa121: return reply(line_coding, sizeof line_coding, wanted);
    case 0x2120: return offer(CONTROL_OUT, PACKET); /* set line coding: its data come next */
    case 0x2122: set_terminal_ready(value & 1); return acknowledge();
    default: return refuse();
  }
}

static void control_in_done(void) {
  if (new_address != 0) {
    ADDRESS = new_address;
    new_address = 0;
  }
  if (answer_sent < answer_size) give_more_answer();
  else if (answer_size > 0) {
    answer_size = answer_sent = 0;
    next_is_data1[CONTROL_OUT] = true;
    offer(CONTROL_OUT, 0); /* the host ends the transfer with an empty packet */
  }
}

static void control_out_done(void) {
  if ((BUFFER_CONTROL(CONTROL_OUT) & LENGTH) > 0) acknowledge();
}

static void take_packet(void) {
  const size_t count = BUFFER_CONTROL(BULK_OUT) & LENGTH;
  uint8_t bytes[PACKET];
  for (size_t i = 0; i < count; i++) bytes[i] = BUFFER(BULK_OUT)[i];
  __asm volatile("cpsid i"); /* the UART's interrupt fills the same queue */
  const bool taken = queue_put(&from_host, bytes, count);
  __asm volatile("cpsie i");
  if (!taken) return; /* the host waits meanwhile */
  received = false;
  offer(BULK_OUT, PACKET);
}

static void send_packet(void) {
  uint8_t bytes[PACKET];
  size_t count = 0;
  /* One less than a full packet: so each ends its transfer, and the host never waits for an empty one. */
  while (count < PACKET - 1 && queue_count(&out) > 0) bytes[count++] = queue_get(&out);
  sending = true;
  give(BULK_IN, bytes, count);
}

static void begin_again(void) {
  ADDRESS = 0;
  new_address = 0;
  configure(false);
}

void usb_start(const char *serial_number) {
  texts[3] = serial_number;
  SET(RESETS) = RESET_USB;
  unreset(RESET_USB);
  for (uint32_t at = 0; at < 0x240; at += 4) REG(USB_DPRAM + at) = 0;
  MUXING = 1 << 0 | 1 << 3;
  POWER_SENSE = 1 << 2 | 1 << 3;
  WAKE = 1 << 4 | 1 << 12 | 1 << 16;
  MAIN_CONTROL = 1;
  LINE_CONTROL = 1u << 29 | 1u << 16; /* the pull-up shows the host that somebody is there */
}

void usb_poll(void) {
  const uint32_t status = LINE_STATUS, done = BUFFERS_DONE;
  if (status & BUS_RESET) {
    LINE_STATUS = BUS_RESET;
    begin_again();
  }
  if (done != 0) BUFFERS_DONE = done;
  if (done & 1 << CONTROL_IN) control_in_done();
  if (done & 1 << CONTROL_OUT) control_out_done();
  if (status & SETUP_CAME) {
    LINE_STATUS = SETUP_CAME;
    take_setup();
  }
  if (!configured) return;
  if (done & 1 << BULK_IN) sending = false;
  if (done & 1 << BULK_OUT) received = true;
  if (received) take_packet();
  if (!sending && terminal_ready && queue_count(&out) > 0) send_packet();
}

bool usb_is_open(void) { return configured && terminal_ready; }
bool usb_send(const uint8_t *bytes, size_t count) { return usb_is_open() && queue_put(&out, bytes, count); }
bool usb_is_flushed(void) { return !usb_is_open() || (queue_count(&out) == 0 && !sending); }
