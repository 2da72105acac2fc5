/*
 * A pendant and a controller that do anything: anything COUNT SEED tells so many random stories, each near the gesture or
 * far from it, and stops with an error where the program breaks a promise. Its own account of what may be sent shares
 * nothing with the program but the table.
 *
 * Prints how many stories were told, lines sent, macros ended, stops, refusals, jogs: a promise that is never put to the
 * test is worth nothing.
 */
#include "sender.h"

#include <stdio.h>
#include <stdlib.h>

#define MOST_CLICKS 4000

static uint64_t state;
static uint32_t now;
static int held, pressed, was_pressed, idle, latched, released, let_go_since, away;
static unsigned position, increment, latch_position, seen_position;
static int latch_known;
static uint32_t turned_at, none_since; /* none_since: on no contact; one where it stays is a place of its own */
static int fresh;                 /* enable was pressed after the selector had rested */
static int over;                  /* nothing more may be sent before a new press */
static int owed;                  /* a line without its answer */
static uint32_t owed_since, patience, came_at;
static uint32_t click_at[MOST_CLICKS];
static int click_way[MOST_CLICKS];
static int clicks, firing, begun;
static char coming[4096];
static size_t coming_read, coming_write, partial_at_send;
static int half_way;
static unsigned long sent_lines, ended, stops, refusals, fired, stop_lines;

static unsigned chance(unsigned below)
{
    state ^= state << 13;
    state ^= state >> 7;
    state ^= state << 17;
    return (unsigned)((state >> 11) % below);
}

static void promise(int kept, const char *what)
{
    if (!kept) {
        fprintf(stderr, "broken: %s\n", what);
        exit(1);
    }
}

static void comes(const char *text)
{
    while (*text != '\0' && coming_write < sizeof coming) {
        coming[coming_write++] = *text++;
    }
}

/* Whether the clicks since enable was pressed end in the gesture, from rest to rest and within the window. */
static int gesture_is_whole(void)
{
    int wanted[256], total = 0, run, each, first, sense;
    for (run = 0; run < CLICKSTOP_RUNS; run++) {
        const int turn = clickstop_turn_of((unsigned)run);
        for (each = 0; each < abs(turn); each++) {
            wanted[total++] = turn < 0 ? -1 : 1;
        }
    }
    first = clicks - total;
    if (first < 0 || (first > 0 && click_at[first] - click_at[first - 1] < CLICKSTOP_REST_MS)) {
        return 0;
    }
    sense = click_way[first] == wanted[0] ? 1 : -1;
    for (each = 0; each < total; each++) {
        if (click_way[first + each] != sense * wanted[each]) {
            return 0;
        }
    }
    return click_at[clicks - 1] - click_at[first] <= CLICKSTOP_WINDOW_MS && now - click_at[clicks - 1] >= CLICKSTOP_REST_MS;
}

static int is(const char *bytes, size_t count, size_t (*text)(char *, size_t))
{
    char line[CLICKSTOP_LONGEST_LINE + 1];
    const size_t length = text(line, sizeof line);
    return length > 0 && count >= length && memcmp(bytes, line, length) == 0;
}

static void write_line(void *context, const char *bytes, size_t count)
{
    size_t i;
    (void)context;
    promise(count > 0, "a line is not empty");
    for (i = 0; i + 1 < count; i++) {
        promise(bytes[i] != '\n' && bytes[i] != '\0', "a line is one line");
    }
    if (is(bytes, count, clickstop_stop_line)) {
        stop_lines++;
        return;
    }
    promise(!pressed && !latched, "after a stop nothing is sent but the stop line");
    promise(held, "nothing is sent after a release");
    promise(fresh, "enable was pressed after the selector had rested");
    promise(!over, "nothing is sent after an error or a missing answer");
    if (!firing) {
        promise(gesture_is_whole(), "nothing is sent without the whole gesture");
        promise(clickstop_kind_at(position, increment) == CLICKSTOP_MACRO, "only a position with a macro fires");
        firing = 1;
        fired++;
    }
    if (is(bytes, count, clickstop_idle_ask)) {
        if (chance(3) != 0) {
            comes(chance(4) != 0 ? "IDLE 1\n" : "AT WORK\n");
        }
        return;
    }
    promise(!owed, "never a second line before the answer to the first");
    promise(idle || begun, "nothing starts unless the controller is idle");
    begun = 1;
    sent_lines++;
    owed = CLICKSTOP_ANSWERS;
    owed_since = now;
    patience = clickstop_stage_of(clickstop_find(position, increment), 0).patience_ms;
    half_way = partial_at_send > 0;
    switch (chance(12)) {
    case 0:
        comes("FAULT 3\n");
        break;
    case 1:
        break; /* late, or never */
    case 2:
        comes("TAKEN\nTAKEN\n");
        break;
    case 3:
        comes("\377\001\nTAKEN\n");
        break;
    case 4:
        comes("TAK");
        break;
    default:
        comes("TAKEN\n");
    }
}

static int read_byte(void *context)
{
    static char line[64];
    int byte;
    (void)context;
    if (coming_read >= coming_write || chance(16) == 0) { /* what is not read yet is still on its way */
        return -1;
    }
    byte = (unsigned char)coming[coming_read++];
    came_at = now;
    if (byte == '\n') {
        line[partial_at_send < sizeof line ? partial_at_send : sizeof line - 1] = '\0';
        if (strncmp(line, "FAULT", 5) == 0 && firing) {
            over = 1;
            refusals++;
        }
        if (strncmp(line, "FAULT", 5) == 0 || (strcmp(line, "TAKEN") == 0 && !half_way)) {
            owed = 0;
        }
        half_way = 0;
        partial_at_send = 0;
    } else if (partial_at_send < sizeof line) {
        line[partial_at_send++] = (char)byte;
    }
    return byte;
}

static int button_held(void *context)
{
    (void)context;
    return held;
}

static int stop_pressed(void *context)
{
    (void)context;
    return pressed;
}

static int controller_idle(void *context)
{
    (void)context;
    return idle;
}

static uint32_t milliseconds(void *context)
{
    (void)context;
    return now;
}

static void forget(void)
{
    fresh = 0;
    firing = begun = 0;
    clicks = 0;
}

static void turn_to(unsigned to, unsigned at)
{
    if (to == position && at == increment) {
        return;
    }
    position = to;
    increment = at;
    turned_at = now;
    forget();
}

static int underway(const struct clickstop_sender *sender)
{
    return sender->state == CLICKSTOP_SENDING || sender->state == CLICKSTOP_ASKING;
}

int main(int argc, char **argv)
{
    static struct clickstop_sender sender;
    struct clickstop_calls calls = {NULL, write_line, read_byte, NULL, button_held, stop_pressed, controller_idle, milliseconds};
    unsigned long story, stories = argc > 1 ? strtoul(argv[1], NULL, 10) : 100;
    state = (argc > 2 ? strtoul(argv[2], NULL, 10) : 1) * 2654435761u + 88172645463325252u;
    for (story = 0; story < stories; story++) {
        const unsigned steps = 40 + chance(200);
        unsigned step, plan = 0;
        enum clickstop_state before = CLICKSTOP_TURNED;
        now = chance(3) == 0 ? 0xFFFFF000u : chance(100000);
        calls.controller_idle = story % 2 == 0 ? controller_idle : NULL;
        held = pressed = latched = fresh = over = owed = firing = begun = clicks = half_way = 0;
        idle = 1;
        position = 3;
        increment = 0;
        coming_read = coming_write = partial_at_send = 0;
        turned_at = came_at = now;
        seen_position = 3;
        was_pressed = 0;
        clickstop_start(&sender, &calls, position, increment);
        for (step = 0; step < steps; step++) {
            int click = 0, wait = 1 + (int)chance(60), was_held = held;
            /* mostly one after the other what fires a macro, and now and then something else */
            if (chance(25) != 0) {
                if (plan == 0) {
                    held = 0;
                    wait = 520 + (int)chance(100);
                } else if (plan == 1) {
                    held = 1;
                } else if (plan < 8) {
                    click = plan < 5 ? 1 : -1;
                } else if (plan == 8) {
                    wait = 255;
                }
                plan = plan < 9 || chance(12) != 0 ? plan + 1 : 0;
            } else {
                switch (chance(11)) {
                case 0:
                    held = !held;
                    break;
                case 1:
                    turn_to(chance(8) == 7 ? CLICKSTOP_NONE : chance(CLICKSTOP_POSITIONS), chance(CLICKSTOP_INCREMENTS));
                    plan = 0;
                    break;
                case 2:
                    pressed = !pressed;
                    break;
                case 3:
                    click = (int)chance(7) - 3;
                    break;
                case 4:
                    wait = (int)chance(20000);
                    break;
                case 5:
                    comes(chance(2) ? "FAULT\n" : "TAKEN\n");
                    break;
                case 6:
                    comes(chance(2) ? "TAK" : "EN\n");
                    break;
                case 7:
                    idle = calls.controller_idle == NULL || !idle;
                    break;
                case 8:
                    turn_to(3, 0);
                    plan = 0;
                    break;
                case 9: /* enable held as the selector is turned, and the gesture once that has rested; or pressed early */
                    turn_to(3, increment == 0 ? 1 : 0);
                    held = chance(2) != 0;
                    wait = held ? 520 + (int)chance(100) : 20 + (int)chance(100);
                    plan = held ? 2 : 1;
                    break;
                default:
                    plan = chance(9);
                }
            }
            while (wait > 0) {
                const int part = wait > 20 ? 5 + (int)chance(15) : wait;
                int each;
                now += (uint32_t)part;
                wait -= part;
                if (position == CLICKSTOP_NONE && seen_position != CLICKSTOP_NONE) {
                    none_since = now;
                }
                if (pressed) {
                    if (!latched) {
                        stops++;
                    }
                    latched = 1;
                    if (!was_pressed) {
                        latch_position = seen_position;
                        latch_known = seen_position != CLICKSTOP_NONE || now - none_since >= CLICKSTOP_SETTLE_MS;
                    }
                    released = let_go_since = away = 0;
                    forget();
                } else if (latched) {
                    released = 1;
                    let_go_since |= !held;
                    if (let_go_since && (position != CLICKSTOP_NONE || now - none_since >= CLICKSTOP_SETTLE_MS)) {
                        latch_position = latch_known ? latch_position : position;
                        latch_known = 1;
                        away |= position != latch_position;
                        if (away && position == latch_position) {
                            latched = 0;
                            turned_at = now;
                        }
                    }
                    forget();
                }
                was_pressed = pressed;
                seen_position = position;
                if (!held) {
                    forget();
                    over = 0;
                } else if (!was_held && now - turned_at >= CLICKSTOP_SETTLE_MS && !latched) {
                    fresh = 1;
                    clicks = 0;
                }
                was_held = held;
                /* once it is whole the gesture is over, whatever the wheel does while the line becomes quiet */
                for (each = 0; each < abs(click) && !underway(&sender) && clicks < MOST_CLICKS; each++) {
                    click_at[clicks] = now;
                    click_way[clicks++] = click < 0 ? -1 : 1;
                }
                /* Given up for lost where a stop line drops it, or where it has to be told before anything starts that
                   the controller is idle; otherwise it may still come, however late. */
                if (owed && now - owed_since >= patience &&
                    (clickstop_stop_line(NULL, 0) > 0u || CLICKSTOP_ASKS || calls.controller_idle != NULL)) {
                    owed = 0;
                }
                if (now - came_at >= CLICKSTOP_PART_MS) {
                    partial_at_send = 0; /* noise, and no part of an answer */
                }
                clickstop_poll(&sender, position, increment, click);
                click = 0;
                promise(sender.line <= sender.end, "no line beyond the stage");
                if (sender.state == CLICKSTOP_FINISHED && before != CLICKSTOP_FINISHED) {
                    ended++;
                }
                if (sender.state == CLICKSTOP_FINISHED || sender.state == CLICKSTOP_FAILED) {
                    over = 1;
                }
                if (sender.state == CLICKSTOP_ENABLED && before == CLICKSTOP_ASKING) {
                    firing = begun = 0; /* not idle: another gesture is wanted */
                    clicks = 0;
                }
                before = sender.state;
            }
            if (coming_read == coming_write) {
                coming_read = coming_write = 0;
            }
        }
    }
    printf("%lu %lu %lu %lu %lu %lu %lu\n", stories, fired, sent_lines, ended, stops, refusals, stop_lines);
    return 0;
}
