/* What the C library needs of this board; all else that it asks of an operating system is answered with an error (nosys). */
#include "board.h"
#include <errno.h>

extern char heap_start[], heap_end[];

void *_sbrk(ptrdiff_t more) {
  static char *end = heap_start;
  if (more > heap_end - end) {
    errno = ENOMEM;
    return (void *)-1;
  }
  char *const before = end;
  end += more;
  return before;
}

_Noreturn void _exit(int code) {
  (void)code;
  crash("the C library gave up");
}
