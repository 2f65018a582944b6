/*
 * Lua's loader of byte code, but that instructions stay in the flash: a quarter of the heap. The build has taken them out
 * of the chunk and laid them there one function after the other (firmware/byte-code.ts).
 */
#pragma GCC optimize("O3") /* two milliseconds of every start */
#include "lprefix.h"
#include <string.h>
#include "lstate.h"
#include "board.h"

static const Instruction *next_code = (const Instruction *)firmware.code;

/* Counted as if allocated, since it will be freed as if it had been; the allocator knows better. */
static Instruction *code_in_flash(lua_State *L, size_t count) {
  const Instruction *code = next_code;
  next_code += count;
  if ((const char *)next_code > (const char *)firmware.code + firmware.code_bytes) crash("instructions are missing");
  G(L)->GCdebt += (l_mem)(count * sizeof *code);
  return (Instruction *)code;
}

/* The whole chunk lies in one piece, without the instructions. Most reads are of a few bytes. */
static size_t read_piece(ZIO *from, void *into, size_t size) {
  if (is_in_flash(into)) return 0;
  if (size > from->n) return size;
  from->n -= size;
  for (char *to = into; size > 0; size--) *to++ = *from->p++;
  return 0;
}

#undef luaM_newvectorchecked
#define luaM_newvectorchecked(L, n, t) \
  (strcmp(#t, "Instruction") == 0 ? (void *)code_in_flash(L, (size_t)(n)) : (void *)luaM_newvector(L, n, t))
#define luaZ_read read_piece
#include "lundump.c"
