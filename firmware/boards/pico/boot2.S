/*
 * Second stage of the boot (RP2040 data sheet, 2.8.1.3): the boot ROM copies these 256 bytes from the start of the flash
 * to RAM and runs them there when their checksum agrees. They read the flash's unique number, set the flash to quad reads
 * and let the core read it as memory; then the program starts from its vector table.
 *
 * Flash commands: the W25Q class's, from memory: 9Fh-class serial parts with a quad enable bit in status register 2.
 */
  .syntax unified
  .cpu cortex-m0plus
  .thumb
  .section .boot2, "ax"

  .equ SSI, 0x18000000
  .equ CTRLR0, 0x00
  .equ CTRLR1, 0x04
  .equ SSIENR, 0x08
  .equ BAUDR, 0x14
  .equ SR, 0x28
  .equ DR0, 0x60
  .equ RX_SAMPLE_DELAY, 0xf0
  .equ SPI_CTRLR0, 0xf4
  .equ EIGHT_BIT_BOTH_WAYS, 7 << 16
  .equ QUAD_32_BIT_READ, (2 << 21) | (31 << 16) | (3 << 8)
  .equ EIGHT_ADDRESS_DIGITS, 8 << 2 /* 24 address bits and 8 mode bits, in units of 4 bits */
  .equ FOUR_WAIT_CYCLES, 4 << 11

  .global boot2
  .thumb_func
boot2:
  ldr r3, =SSI
  /* The clock pad drives hard and switches fast; the data pads need no Schmitt trigger at this speed. */
  ldr r0, =0x40020000
  movs r1, #0x21
  str r1, [r0, #4]
  movs r0, #0
  str r0, [r3, #SSIENR]
  movs r1, #2 /* 125 MHz / 2 at the most, within the limit of every command used. */
  str r1, [r3, #BAUDR]
  movs r1, #1
  movs r2, #RX_SAMPLE_DELAY
  str r1, [r3, r2]
  ldr r1, =EIGHT_BIT_BOTH_WAYS
  str r1, [r3, #CTRLR0]
  movs r1, #1
  str r1, [r3, #SSIENR]

  /* Unique number: command, four dummy bytes, eight bytes. The chip stays selected while the queue is not empty. */
  movs r0, #0x4b
  movs r4, #13
  ldr r5, =unique_number
  ldr r7, =unique_number + 8
1:str r0, [r3, #DR0]
  movs r0, #0
  subs r4, #1
  bne 1b
  movs r4, #13
2:bl answer
  subs r4, #1
  cmp r4, #8
  bhs 2b
  strb r0, [r5]
  adds r5, #1
  cmp r5, r7
  bne 2b

  movs r0, #0x35
  bl ask
  movs r6, #2
  tst r0, r6
  bne quad
  movs r0, #0x06
  bl tell
  movs r0, #0x31
  str r0, [r3, #DR0]
  str r6, [r3, #DR0]
  bl answer
  bl answer
busy:
  movs r0, #0x05
  bl ask
  lsrs r0, r0, #1
  bcs busy

quad:
  movs r0, #0
  str r0, [r3, #SSIENR]
  ldr r1, =QUAD_32_BIT_READ
  str r1, [r3, #CTRLR0]
  str r0, [r3, #CTRLR1]
  /* First read with its command; it leaves the flash in the mode where a read starts with the address at once. */
  ldr r1, =(EIGHT_ADDRESS_DIGITS | FOUR_WAIT_CYCLES | (2 << 8) | 1)
  movs r2, #SPI_CTRLR0
  str r1, [r3, r2]
  movs r1, #1
  str r1, [r3, #SSIENR]
  movs r0, #0xeb
  str r0, [r3, #DR0]
  movs r0, #0xa0
  str r0, [r3, #DR0]
  bl idle
  movs r0, #0
  str r0, [r3, #SSIENR]
  ldr r1, =(0xa0 << 24) | EIGHT_ADDRESS_DIGITS | FOUR_WAIT_CYCLES | 2
  str r1, [r3, r2]
  movs r1, #1
  str r1, [r3, #SSIENR]

  ldr r0, =vectors
  ldr r1, =0xe000ed08
  str r0, [r1]
  ldmia r0!, {r1, r2}
  msr msp, r1
  bx r2

/* Sends command r0 and waits for its end. */
tell:
  str r0, [r3, #DR0]
  b answer
/* Sends command r0; r0 becomes the byte after it. */
ask:
  mov r12, lr
  str r0, [r3, #DR0]
  str r0, [r3, #DR0]
  bl answer
  mov lr, r12
/* r0 becomes the next byte that came in, once the line is idle. */
answer:
  ldr r1, [r3, #SR]
  lsrs r1, r1, #4
  bcc answer
  ldr r0, [r3, #DR0]
  bx lr
idle:
  ldr r1, [r3, #SR]
  movs r4, #5
  ands r1, r4
  cmp r1, #4
  bne idle
  bx lr
  .pool
