/* The firmware's instructions and byte code, as the build lays them out (firmware/byte-code.ts). */
  .section .chunk, "a"
  .balign 4
  .global firmware
firmware:
  .incbin "fixture.chunk"
firmware_end:
