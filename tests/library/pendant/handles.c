/* The sender with handles for a test that is both the pendant and the controller. */
#define CLICKSTOP_SENDER
#define CLICKSTOP_NAMES
#include "clickstop_slots.h"

static struct clickstop_sender sender;
static struct clickstop_calls calls;

void begin(void (*write_line)(void *, const char *, size_t), int (*read_byte)(void *), int (*button_held)(void *),
           int (*controller_idle)(void *), uint32_t (*milliseconds)(void *), unsigned position, unsigned increment);
int look(unsigned position, unsigned increment, int clicks);
int outcome(void);
int stage(void);
size_t table_bytes(void);
const char *name_of(int slot);

void begin(void (*write_line)(void *, const char *, size_t), int (*read_byte)(void *), int (*button_held)(void *),
           int (*controller_idle)(void *), uint32_t (*milliseconds)(void *), unsigned position, unsigned increment)
{
    calls.context = NULL;
    calls.write_line = write_line;
    calls.read_byte = read_byte;
    calls.button_held = button_held;
    calls.controller_idle = controller_idle;
    calls.milliseconds = milliseconds;
    clickstop_start(&sender, &calls, position, increment);
}

int look(unsigned position, unsigned increment, int clicks)
{
    return (int)clickstop_poll(&sender, position, increment, clicks);
}

int outcome(void)
{
    return (int)sender.outcome;
}

int stage(void)
{
    return (int)sender.stage;
}

const char *name_of(int slot)
{
    return clickstop_names[clickstop_slots[slot].macro];
}

/* What the tables take on a chip whose pointers have 4 bytes, the lines themselves left out. */
size_t table_bytes(void)
{
    return sizeof clickstop_slots + sizeof clickstop_macros + sizeof clickstop_stages +
           4 * (sizeof clickstop_lines / sizeof clickstop_lines[0]);
}
