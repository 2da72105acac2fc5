/*
 * A pendant and a controller that do anything: every run of bytes on standard input, told apart by its length in two
 * bytes, is a story of three bytes for each look at the pendant. Stops with an error where the sender breaks a promise.
 */
#define CLICKSTOP_SENDER
#include "clickstop_slots.h"

#include <stdio.h>
#include <stdlib.h>

#define FIRST_ANSWER 200 /* bytes from here on are what the controller says */

static unsigned char story[65536];
static size_t told, length;
static int held, idle, pressed, fresh, rested, lines;
static uint32_t clock_ms;

static void promise(int kept, const char *what)
{
    if (!kept) {
        fprintf(stderr, "broken: %s\n", what);
        exit(1);
    }
}

static void write_line(void *context, const char *bytes, size_t count)
{
    size_t i;
    (void)context;
    promise(count > 1 && bytes[count - 1] == '\n', "a line is whole");
    for (i = 0; i + 1 < count; i++) {
        promise(bytes[i] != '\n' && bytes[i] != '\0', "a line is one line");
    }
    if (bytes[0] != '@') {
        promise(held, "a line is only sent while the button is held");
        promise(fresh, "the button was pressed after the selector had rested");
        promise(lines > 0 || idle, "nothing starts unless the controller is idle");
        lines++;
    }
}

static int read_byte(void *context)
{
    static const unsigned char said[] = {'T', 'A', 'K', 'E', 'N', '\n', '\r', 0, 255};
    (void)context;
    if (told >= length || story[told] < FIRST_ANSWER) {
        return -1;
    }
    return said[(story[told++] - FIRST_ANSWER) % sizeof said];
}

static int button_held(void *context)
{
    (void)context;
    return held;
}

static int controller_idle(void *context)
{
    (void)context;
    return idle;
}

static uint32_t milliseconds(void *context)
{
    (void)context;
    return clock_ms;
}

int main(void)
{
    const struct clickstop_calls calls = {NULL, write_line, read_byte, button_held, controller_idle, milliseconds};
    int low, high;
    while ((low = getchar()) != EOF && (high = getchar()) != EOF) {
        static struct clickstop_sender sender;
        unsigned position = 3, increment = 0;
        uint32_t turned;
        length = fread(story, 1, (size_t)(low + 256 * high), stdin);
        told = 0;
        held = idle = fresh = lines = 0;
        clock_ms = 0xFFFFFC00u; /* the clock runs over soon */
        turned = clock_ms;
        clickstop_start(&sender, &calls, position, increment);
        while (told + 3 <= length) {
            const unsigned char buttons = story[told++], wheel = story[told++], time = story[told++];
            const unsigned before_position = position, before_increment = increment;
            enum clickstop_state state;
            clock_ms += time;
            if (buttons & 1) {
                held = !held;
                if (!held) {
                    fresh = lines = 0;
                }
            }
            if (buttons & 2) {
                idle = !idle;
            }
            if ((buttons & 0x1C) == 0x1C) {
                position = wheel % 8u;
                increment = (wheel / 8u) % 4u;
            }
            if (position != before_position || increment != before_increment) {
                turned = clock_ms;
                fresh = lines = 0;
            }
            rested = clock_ms - turned >= CLICKSTOP_SETTLE_MS;
            pressed = held && (buttons & 1);
            if (pressed && rested) {
                fresh = 1;
            }
            state = clickstop_poll(&sender, position, increment, wheel % 2 ? (int)wheel - 100 : (int)wheel % 5 - 2);
            promise(state <= CLICKSTOP_FAILED, "the state is one of those there are");
            promise(sender.line <= sender.end, "no line beyond the stage");
        }
    }
    return 0;
}
