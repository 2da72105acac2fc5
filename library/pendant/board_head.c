/*
 * board.c: the functions of a board with the pins of the pendant sheet, and the main loop: a whole pendant.
 *
 * Two boards are in it. For an 8-bit chip with avr-libc everything is there: build this file alone, for example with
 *     avr-gcc -std=c99 -Os -mmcu=YOUR_CHIP -DF_CPU=16000000UL board.c -o pendant.elf
 * YOUR_CHIP as avr-libc names it, F_CPU its clock in hertz. Any other board has seven short functions to fill in; until
 * then nothing is sent. C99 without dependencies, also C++17.
 *
 * The stop's contact has to open when it is pressed, so that a broken lead stops too. It is an input, and no emergency
 * stop: that has to remove drive power through a hard-wired circuit. Of several stops on the sheet
 * one that is open is enough; of several enables all have to be closed.
 *
 * A contact that closes to supply (closed = "high") needs a resistor from its pin to common, for the pull-ups of the pins
 * pull the other way. Stop and enable never do: where their leads break they have to read as pressed and as let go.
 */
#include "pendant.h"

#ifndef CLICKSTOP_BAUD
/* Bits a second of the port, as the controller's is set (our choice); 8 bits, no parity. */
#define CLICKSTOP_BAUD 115200ul
#endif

@PINS@

/* What is to be done with a pin: made ready, looked at (1: closed), or switched, for the lamp. */
enum board_job { BOARD_READY, BOARD_LOOK, BOARD_LIGHT, BOARD_DARK };

