/*
 * A pendant on a serial line: on_a_line TTY BUSY POSITION INCREMENT SPEED GESTURES RELEASE_AFTER
 *
 * BUSY is a file whose first byte is not 0 while the controller is busy. The clock runs SPEED times as fast. As many
 * gestures are made as asked for; after RELEASE_AFTER lines (0: never) the button is let go.
 * Prints how each gesture ended, by its number: done, let-go, no-answer or refused.
 */
#define _XOPEN_SOURCE 600
#include "sender.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>
#include <unistd.h>

static int line, busy, held, written;
static uint32_t speed;

static void write_line(void *context, const char *bytes, size_t count)
{
    size_t sent = 0;
    (void)context;
    while (sent < count) {
        const ssize_t now = write(line, bytes + sent, count - sent);
        if (now > 0) {
            sent += (size_t)now;
        }
    }
    written++;
}

static int read_byte(void *context)
{
    unsigned char byte;
    (void)context;
    return read(line, &byte, 1) == 1 ? byte : -1;
}

static int button_held(void *context)
{
    (void)context;
    return held;
}

static int controller_idle(void *context)
{
    char byte = 1;
    (void)context;
    return pread(busy, &byte, 1, 0) == 1 && byte == 0;
}

static uint32_t milliseconds(void *context)
{
    struct timespec now;
    (void)context;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (uint32_t)(((uint64_t)now.tv_sec * 1000u + (uint64_t)now.tv_nsec / 1000000u) * speed);
}

int main(int argc, char **argv)
{
    static const char *const ends[] = {"nothing", "held-early", "wrong-turn", "no-macro", "not-idle",
                                       "let-go", "refused", "no-answer", "stopped", "done"};
    static struct clickstop_sender sender;
    const struct clickstop_calls calls = {NULL, write_line, read_byte, NULL, button_held, NULL, controller_idle, milliseconds};
    const struct timespec pause = {0, 100000};
    if (argc != 8) {
        return 2;
    }
    line = open(argv[1], O_RDWR | O_NOCTTY | O_NONBLOCK);
    busy = open(argv[2], O_RDONLY);
    const unsigned position = (unsigned)atoi(argv[3]), increment = (unsigned)atoi(argv[4]);
    speed = (uint32_t)atoi(argv[5]);
    const int gestures = atoi(argv[6]), release_after = atoi(argv[7]);
    if (line < 0 || busy < 0) {
        return 2;
    }
    clickstop_start(&sender, &calls, position, increment);
    for (int made = 0; made < gestures; made++) {
        enum clickstop_state state = CLICKSTOP_TURNED;
        held = 0;
        do {
            state = clickstop_poll(&sender, position, increment, 0);
            nanosleep(&pause, NULL);
        } while (state != CLICKSTOP_READY);
        held = 1;
        written = 0;
        int clicks = 0; /* three one way, three back, and a rest */
        do {
            const int click = state == CLICKSTOP_ENABLED && clicks < 6 ? (clicks < 3 ? 1 : -1) : 0;
            clicks += click != 0;
            state = clickstop_poll(&sender, position, increment, click);
            if (release_after > 0 && written >= release_after) {
                held = 0;
            }
            nanosleep(&pause, NULL);
        } while (state != CLICKSTOP_FINISHED && state != CLICKSTOP_FAILED && held);
        if (!held) {
            clickstop_poll(&sender, position, increment, 0);
        }
        puts(ends[sender.why]);
    }
    return 0;
}
