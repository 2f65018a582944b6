/* Lua on the board: the natives that firmware/boards/lua/main.ts names, and the loop that calls its `step`. */
#include "board.h"
#include "lauxlib.h"
#include "lua.h"
#include "lualib.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { READ_BYTES_MAX = 256, FLUSH_US_MAX = 50000 };
/*
 * RAM is scarcer than time: a new round of collecting begins soon after the last, and goes on in steps so small that no
 * sample is late.
 */
enum { GC_PAUSE_PERCENT = 106, GC_STEP_PERCENT = 25, GC_STEP_BYTES_LOG2 = 8 };
#define PWM_LEVELS(slice) REG(PWM + 0x14 * (slice) + 0x0c)
#define PWM_ENABLE REG(PWM + 0xa0)

static uint8_t from_host_bytes[2048], to_host_bytes[2048];
struct Queue from_host = {from_host_bytes, sizeof from_host_bytes, 0, 0};
struct Queue to_host = {to_host_bytes, sizeof to_host_bytes, 0, 0};
static char fixture_id[] = "SWP-0000000000000000";

static int l_micros(lua_State *L) {
  lua_pushinteger(L, micros());
  return 1;
}

static int l_transfer(lua_State *L) {
  size_t write_count;
  const char *write = luaL_checklstring(L, 2, &write_count);
  const lua_Integer read_count = (lua_Integer)luaL_checknumber(L, 3);
  uint8_t read[READ_BYTES_MAX];
  luaL_argcheck(L, read_count >= 0 && read_count <= READ_BYTES_MAX, 3, "too many");
  usb_poll();
  const uint8_t address = (uint8_t)luaL_checknumber(L, 1);
  if (!i2c_transfer(address, (const uint8_t *)write, write_count, read, (size_t)read_count)) return 0;
  lua_pushlstring(L, (const char *)read, (size_t)read_count);
  return 1;
}

static int l_recover(lua_State *L) {
  lua_pushboolean(L, i2c_recover());
  return 1;
}

static int l_set_laser(lua_State *L) {
  if (lua_toboolean(L, 1)) GPIO_OUT_SET = 1u << PIN_LASER;
  else GPIO_OUT_CLEAR = 1u << PIN_LASER;
  return 0;
}

/* 0 to 255 each; the counter has 16 bits. */
static int l_set_lamp(lua_State *L) {
  const uint32_t red = (uint32_t)luaL_checknumber(L, 1), green = (uint32_t)luaL_checknumber(L, 2);
  PWM_LEVELS(5) = green << 24 | red << 8;
  PWM_LEVELS(6) = (uint32_t)luaL_checknumber(L, 3) << 8;
  return 0;
}

static int l_button_down(lua_State *L) {
  lua_pushboolean(L, !is_high(PIN_BUTTON));
  return 1;
}

static int l_head_position(lua_State *L) {
  lua_pushinteger(L, is_high(PIN_HEAD));
  return 1;
}

static int l_read(lua_State *L) {
  char bytes[READ_BYTES_MAX];
  size_t count = 0;
  usb_poll();
  while (count < sizeof bytes && queue_count(&from_host) > 0) bytes[count++] = (char)queue_get(&from_host);
  lua_pushlstring(L, bytes, count);
  return 1;
}

static int l_write(lua_State *L) {
  size_t count;
  const uint8_t *bytes = (const uint8_t *)luaL_checklstring(L, 1, &count);
  lua_pushboolean(L, (usb_is_open() || uart_is_open) && queue_put(&to_host, bytes, count));
  usb_poll();
  uart_send();
  return 1;
}

static int l_restart(lua_State *L) {
  /* The answer to the request is still on its way. */
  for (uint32_t started = micros(); !usb_is_flushed() && micros() - started < FLUSH_US_MAX;) usb_poll();
  if (lua_toboolean(L, 1)) restart_to_update();
  restart(ASKED);
}

static const luaL_Reg natives[] = {
    {"micros", l_micros},        {"transfer", l_transfer},
    {"recover", l_recover},      {"setLaser", l_set_laser},
    {"setLamp", l_set_lamp},     {"buttonDown", l_button_down},
    {"headPosition", l_head_position}, {"read", l_read},
    {"write", l_write},          {"restart", l_restart},
    {NULL, NULL},
};

static void start_pins(void) {
  start_afresh(RESET_PWM);
  PWM_ENABLE = 1 << 5 | 1 << 6;
  GPIO_FUNCTION(PIN_RED) = GPIO_FUNCTION(PIN_GREEN) = GPIO_FUNCTION(PIN_BLUE) = FUNCTION_PWM;
  GPIO_PAD(PIN_HEAD) = GPIO_PAD(PIN_BUTTON) = PAD_PULL_UP;
  GPIO_FUNCTION(PIN_HEAD) = GPIO_FUNCTION(PIN_BUTTON) = FUNCTION_SIO;
}

static void check(lua_State *L, int status) {
  if (status == LUA_OK) return;
  const char *text = lua_tostring(L, -1);
  crash(status == LUA_ERRMEM ? "out of memory" : text != NULL ? text : "an error that is no text");
}

/* Bytes that Lua holds now, and the most it ever held. */
size_t lua_bytes, lua_bytes_peak, lua_refused;

static void *allocate(void *, void *block, size_t old_size, size_t size) {
  void *moved = NULL;
  if (is_in_flash(block)) return NULL; /* an instruction array, which is only ever freed */
  if (size == 0) free(block);
  else if ((moved = realloc(block, size)) == NULL) return lua_refused = size, NULL;
  lua_bytes += size - (block != NULL ? old_size : 0);
  if (lua_bytes > lua_bytes_peak) lua_bytes_peak = lua_bytes;
  return moved;
}

/* Leaves `step` on the stack, and nothing collected. */
static void load_firmware(lua_State *L) {
  luaL_requiref(L, LUA_GNAME, luaopen_base, 1);
  luaL_requiref(L, LUA_TABLIBNAME, luaopen_table, 1);
  luaL_requiref(L, LUA_STRLIBNAME, luaopen_string, 1);
  luaL_requiref(L, LUA_MATHLIBNAME, luaopen_math, 1);
  lua_settop(L, 0);
  luaL_newlib(L, natives);
  lua_pushstring(L, "RP2040");
  lua_setfield(L, -2, "board");
  lua_pushstring(L, fixture_id);
  lua_setfield(L, -2, "fixtureId");
  lua_pushinteger(L, reset_cause);
  lua_setfield(L, -2, "resetCause");
  lua_setglobal(L, "board");
  const char *const chunk = (const char *)firmware.code + firmware.code_bytes;
  check(L, luaL_loadbufferx(L, chunk, firmware.chunk_bytes, "=firmware", "b"));
  check(L, lua_pcall(L, 0, 1, 0));
  lua_getfield(L, -1, "step");
}

int main(void) {
  start_pins();
  for (int i = 0; i < 8; i++) snprintf(fixture_id + 4 + 2 * i, 3, "%02X", unique_number[i]);
  uart_start();
  i2c_start();
  usb_start(fixture_id);
  lua_State *L = lua_newstate(allocate, NULL);
  if (L == NULL) crash("out of memory");
  lua_gc(L, LUA_GCINC, GC_PAUSE_PERCENT, GC_STEP_PERCENT, GC_STEP_BYTES_LOG2);
  lua_gc(L, LUA_GCSTOP); /* there is room enough for the start */
  load_firmware(L);
  for (;;) {
    watchdog_feed();
    lua_pushvalue(L, -1);
    check(L, lua_pcall(L, 0, 1, 0));
    const uint32_t until = micros() + (uint32_t)lua_tonumber(L, -1);
    lua_pop(L, 1);
    if (!stack_is_whole()) crash("C stack overrun");
    if (!lua_gc(L, LUA_GCISRUNNING)) { /* after the first step: whoever asked meanwhile has an answer */
      lua_gc(L, LUA_GCRESTART);
      lua_gc(L, LUA_GCCOLLECT);
    }
    for (usb_poll(); queue_count(&from_host) == 0 && (int32_t)(until - micros()) > 0; usb_poll()) sleep_until(until);
  }
}
