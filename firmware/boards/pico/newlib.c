/* What the C library needs of this board; all else that it asks of an operating system is answered with an error (nosys). */
#include "board.h"

extern char heap_start[], heap_end[];

void *_sbrk(ptrdiff_t more) {
  static char *end = heap_start;
  if (more > heap_end - end) return (void *)-1;
  end += more;
  return end - more;
}

_Noreturn void _exit(int) { crash("the C library gave up"); }
