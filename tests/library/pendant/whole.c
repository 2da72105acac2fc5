/* The whole pendant with handles for a test that is its board: contacts as they stand, edges of the wheel, a controller. */
#include "pendant.h"

static struct clickstop_pendant pendant;
static struct clickstop_board board;

void begin(void (*write_line)(void *, const char *, size_t), int (*read_byte)(void *),
           int (*position_closed)(void *, unsigned), int (*increment_closed)(void *, unsigned),
           int (*enable_closed)(void *), int (*stop_pressed)(void *), int (*wheel_edges)(void *), void (*lamp)(void *, int),
           void (*show)(void *, const char *, size_t), uint32_t (*milliseconds)(void *), int (*controller_idle)(void *));
int look(void);
int why(void);
int at_line(void);
int edge(int levels);

void begin(void (*write_line)(void *, const char *, size_t), int (*read_byte)(void *),
           int (*position_closed)(void *, unsigned), int (*increment_closed)(void *, unsigned),
           int (*enable_closed)(void *), int (*stop_pressed)(void *), int (*wheel_edges)(void *), void (*lamp)(void *, int),
           void (*show)(void *, const char *, size_t), uint32_t (*milliseconds)(void *), int (*controller_idle)(void *))
{
    memset(&board, 0, sizeof board);
    board.write_line = write_line;
    board.read_byte = read_byte;
    board.position_closed = position_closed;
    board.increment_closed = increment_closed;
    board.enable_closed = enable_closed;
    board.stop_pressed = stop_pressed;
    board.wheel_edges = wheel_edges;
    board.lamp = lamp;
    board.show = show;
    board.milliseconds = milliseconds;
    board.controller_idle = controller_idle;
    clickstop_pendant_start(&pendant, &board);
}

int look(void)
{
    return (int)clickstop_pendant_poll(&pendant);
}

int why(void)
{
    return (int)pendant.sender.why;
}

int at_line(void)
{
    return (int)pendant.sender.at_line;
}

int edge(int levels)
{
    static uint8_t last;
    return clickstop_wheel_edge(&last, (unsigned)levels);
}
