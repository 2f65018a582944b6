/*
 * A serial port over USB (CDC, abstract control model; USB 2.0 chapter 9 and the class's PSTN subclass), polled. Registers:
 * RP2040 data sheet, 4.1.
 */
#include "board.h"
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
enum { PACKET = 64, NOTICE_PACKET = 8, ENGLISH = 0x0409 };

#define BUFFER_CONTROL(end) REG(USB_DPRAM + 0x80 + 4 * (end))
#define ENDPOINT_CONTROL(end) REG(USB_DPRAM + 4 * (end))
#define BUFFER(end) ((uint8_t *)(USB_DPRAM + buffer_at[end]))
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
/* Languages (one), maker, product, serial number. */
static const char *texts[] = {"?", "Swathplane", "Swathplane fixture", ""};

static bool next_is_data1[6];
static bool configured, terminal_ready;
static uint8_t address; /* in force from the end of the transfer that brought it */
static const uint8_t line_coding[] = {0x00, 0xc2, 0x01, 0x00, 0, 0, 8}; /* 115200 8N1; it means nothing here */
static const uint8_t *answer; /* what of it is still to be sent */
static size_t answer_left;

/* The two bits of ownership have to arrive last (data sheet, 4.1.2.5.1): the other clock may see a write late. */
static void offer(int end, uint32_t value) {
  if (next_is_data1[end]) value |= DATA1;
  next_is_data1[end] = !next_is_data1[end];
  __asm volatile("" ::: "memory"); /* the packet is in its buffer */
  BUFFER_CONTROL(end) = value;
  for (int i = 0; i < 12; i++) __asm volatile("nop");
  BUFFER_CONTROL(end) = value | AVAILABLE;
}

static void give(int end, const uint8_t *bytes, size_t count) {
  for (size_t i = 0; i < count; i++) BUFFER(end)[i] = bytes[i];
  offer(end, FULL | count);
}

static void give_more_answer(void) {
  const size_t count = answer_left < PACKET ? answer_left : PACKET;
  give(CONTROL_IN, answer, count);
  answer += count;
  answer_left -= count;
}

/* `bytes` have to stay where they are until the host has them. */
static void reply(const uint8_t *bytes, size_t count, size_t wanted) {
  answer = bytes;
  answer_left = count < wanted ? count : wanted;
  give_more_answer();
}

static void acknowledge(void) { give(CONTROL_IN, NULL, 0); }

static void refuse(void) {
  STALL_CONTROL_ENDPOINT = 3;
  BUFFER_CONTROL(CONTROL_IN) = STALL;
  BUFFER_CONTROL(CONTROL_OUT) = STALL;
}

static void reply_text(uint8_t number, size_t wanted) {
  static uint16_t text[PACKET / 2];
  if (number > 3) return refuse();
  const size_t length = strlen(texts[number]);
  text[0] = 3 << 8 | (2 + 2 * length);
  for (size_t i = 0; i < length; i++) text[1 + i] = (uint8_t)texts[number][i];
  if (number == 0) text[1] = ENGLISH;
  reply((const uint8_t *)text, text[0] & 0xff, wanted);
}

/* A packet has come and was not taken, or has not gone yet: the controller sets and clears this bit. */
static bool is_full(int end) { return BUFFER_CONTROL(end) & FULL; }

static void restart_end(int end) {
  next_is_data1[end] = false;
  if (end == BULK_OUT) offer(BULK_OUT, PACKET);
  else BUFFER_CONTROL(BULK_IN) = 0;
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
  if (ready && !terminal_ready) to_host.got = to_host.put;
  terminal_ready = ready;
}

static void take_setup(void) {
  const volatile uint8_t *const setup = (const volatile uint8_t *)USB_DPRAM;
  const uint16_t value = setup[2] | setup[3] << 8, wanted = setup[6] | setup[7] << 8;
  static const uint8_t zeros[2] = {0, 0}, one = 1;
  next_is_data1[CONTROL_IN] = next_is_data1[CONTROL_OUT] = true;
  answer = NULL;
  answer_left = 0;
  switch (setup[0] << 8 | setup[1]) {
    case 0x8006: /* get descriptor */
      if (setup[3] == 1) return reply(device, sizeof device, wanted);
      if (setup[3] == 2) return reply(configuration, sizeof configuration, wanted);
      if (setup[3] == 3) return reply_text(setup[2], wanted);
      return refuse();
    case 0x0005: address = (uint8_t)value; return acknowledge();
    case 0x0009: configure(value == 1); return acknowledge();
    case 0x8008: return reply(configured ? &one : zeros, 1, wanted); /* get configuration */
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
  ADDRESS = address;
  if (answer_left > 0) return give_more_answer();
  if (answer == NULL) return;
  answer = NULL;
  next_is_data1[CONTROL_OUT] = true;
  offer(CONTROL_OUT, 0); /* the host ends the transfer with an empty packet */
}

static void take_packet(void) {
  const size_t count = BUFFER_CONTROL(BULK_OUT) & LENGTH;
  __asm volatile("cpsid i" ::: "memory"); /* the UART's interrupt fills the same queue */
  const bool taken = queue_put(&from_host, BUFFER(BULK_OUT), count);
  __asm volatile("cpsie i" ::: "memory");
  if (taken) offer(BULK_OUT, PACKET); /* otherwise the host waits */
}

static void send_packet(void) {
  uint8_t bytes[PACKET];
  size_t count = 0;
  /* One less than a full packet: so each ends its transfer, and the host never waits for an empty one. */
  while (count < PACKET - 1 && queue_count(&to_host) > 0) bytes[count++] = queue_get(&to_host);
  give(BULK_IN, bytes, count);
}

void usb_start(const char *serial_number) {
  texts[3] = serial_number;
  start_afresh(RESET_USB);
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
    ADDRESS = address = 0;
    configure(false);
  }
  BUFFERS_DONE = done;
  if (done & 1 << CONTROL_IN) control_in_done();
  if (done & 1 << CONTROL_OUT && BUFFER_CONTROL(CONTROL_OUT) & LENGTH) acknowledge();
  if (status & SETUP_CAME) {
    LINE_STATUS = SETUP_CAME;
    take_setup();
  }
  if (!configured) return;
  if (is_full(BULK_OUT)) take_packet();
  if (!is_full(BULK_IN) && terminal_ready && queue_count(&to_host) > 0) send_packet();
}

bool usb_is_open(void) { return configured && terminal_ready; }
bool usb_is_flushed(void) { return !usb_is_open() || (queue_count(&to_host) == 0 && !is_full(BULK_IN)); }
