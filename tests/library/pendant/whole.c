/* The whole pendant with handles for a test that is its board: contacts as they stand, edges of the wheel, a controller.
   How everything stands is told at each look, so that nothing but the controller has to be asked meanwhile. */
#include "pendant.h"

static struct clickstop_pendant pendant;
static struct clickstop_board board;

static uint32_t now;
static unsigned positions, increments, enable, stop;
static int edges;

static int position_closed(void *context, unsigned at)
{
    (void)context;
    return (positions >> at) & 1U ? 1 : 0;
}

static int increment_closed(void *context, unsigned at)
{
    (void)context;
    return (increments >> at) & 1U ? 1 : 0;
}

static int enable_closed(void *context)
{
    (void)context;
    return enable ? 1 : 0;
}

static int stop_pressed(void *context)
{
    (void)context;
    return stop ? 1 : 0;
}

static int wheel_edges(void *context)
{
    int turned = edges;
    (void)context;
    edges = 0;
    return turned;
}

static uint32_t milliseconds(void *context)
{
    (void)context;
    return now;
}

void begin(void (*write_line)(void *, const char *, size_t), int (*read_byte)(void *), void (*lamp)(void *, int),
           void (*show)(void *, const char *, size_t), int (*controller_idle)(void *));
int look(uint32_t at, unsigned positions_closed, unsigned increments_closed, unsigned enabled, unsigned stopped,
         int turned);
int why(void);
int at_line(void);
int edge(int levels);

void begin(void (*write_line)(void *, const char *, size_t), int (*read_byte)(void *), void (*lamp)(void *, int),
           void (*show)(void *, const char *, size_t), int (*controller_idle)(void *))
{
    now = 0;
    positions = enable = stop = 0;
    increments = 1;
    edges = 0;
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

int look(uint32_t at, unsigned positions_closed, unsigned increments_closed, unsigned enabled, unsigned stopped,
         int turned)
{
    now = at;
    positions = positions_closed;
    increments = increments_closed;
    enable = enabled;
    stop = stopped;
    edges += turned;
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
