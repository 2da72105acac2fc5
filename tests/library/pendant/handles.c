/* The sender and the jog with handles for a test that is both the pendant, its contacts settled, and the controller. */
#include "pendant.h"

static struct clickstop_pendant pendant;
#define sender pendant.sender
#define calls pendant.calls

void begin(void (*write_line)(void *, const char *, size_t), int (*read_byte)(void *),
           void (*on_line)(void *, const char *, size_t), int (*button_held)(void *), int (*stop_pressed)(void *),
           int (*controller_idle)(void *), uint32_t (*milliseconds)(void *), unsigned position, unsigned increment);
int look(unsigned position, unsigned increment, int clicks);
int why(void);
int at_line(void);
int stage(void);
int lamp(void);
size_t name_of(int slot, char *to, size_t room);
size_t issue(char *to, size_t room);

void begin(void (*write_line)(void *, const char *, size_t), int (*read_byte)(void *),
           void (*on_line)(void *, const char *, size_t), int (*button_held)(void *), int (*stop_pressed)(void *),
           int (*controller_idle)(void *), uint32_t (*milliseconds)(void *), unsigned position, unsigned increment)
{
    calls.context = NULL;
    calls.write_line = write_line;
    calls.read_byte = read_byte;
    calls.on_line = on_line;
    calls.button_held = button_held;
    calls.stop_pressed = stop_pressed;
    calls.controller_idle = controller_idle;
    calls.milliseconds = milliseconds;
    clickstop_start(&sender, &calls, position, increment);
}

int look(unsigned position, unsigned increment, int clicks)
{
    clickstop_poll(&sender, position, increment, clicks);
    clickstop_pendant_jog(&pendant, clicks, calls.milliseconds(calls.context));
    return (int)sender.state;
}

int why(void)
{
    return (int)sender.why;
}

int at_line(void)
{
    return (int)sender.at_line;
}

int stage(void)
{
    return (int)sender.stage;
}

int lamp(void)
{
    return (int)clickstop_lamp_code(&sender);
}

size_t name_of(int slot, char *to, size_t room)
{
    return clickstop_macro_name(slot, to, room);
}

size_t issue(char *to, size_t room)
{
    return clickstop_issue(to, room);
}
