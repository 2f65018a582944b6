/* Lua's limits for 264 KB of RAM, in place of those for a computer. Laid before every file of Lua. */
#ifndef __ASSEMBLER__
#include "luaconf.h"
/* 64 bit numbers need no more than the alignment of words here: a value then takes 12 bytes, not 16. */
typedef double board_number __attribute__((aligned(4)));
typedef long long board_integer __attribute__((aligned(4)));
#undef LUA_NUMBER
#define LUA_NUMBER board_number
#undef LUA_INTEGER
#define LUA_INTEGER board_integer
#undef LUAI_UACINT
#define LUAI_UACINT long long
/* Slots of one Lua stack: 48 KB. Runaway recursion ends in an error while there is memory left to handle it. */
#undef LUAI_MAXSTACK
#define LUAI_MAXSTACK 4000
/* C functions within each other, on 32 KB of stack. */
#define LUAI_MAXCCALLS 24
/* The same on every start. */
#define luai_makeseed(L) 0x5377504cu
#define l_randomizePivot() 0u
#endif
