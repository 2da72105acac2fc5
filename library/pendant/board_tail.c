/* ---- The same for every board. ---- */

static int board_position(void *context, unsigned position)
{
    (void)context;
    return board_contact((uint8_t)(CONTACT_POSITION_0 + position), BOARD_LOOK);
}

static int board_increment(void *context, unsigned increment)
{
    (void)context;
#ifdef CONTACT_INCREMENT_0
    return board_contact((uint8_t)(CONTACT_INCREMENT_0 + increment), BOARD_LOOK);
#else
    return increment == 0u;
#endif
}

static int board_enable(void *context)
{
    uint8_t each;
    (void)context;
    for (each = 0; each < ENABLES; each++) {
        if (!board_contact((uint8_t)(CONTACT_ENABLE + each), BOARD_LOOK)) {
            return 0;
        }
    }
    return 1;
}

#if HAS_STOP
static int board_stop(void *context)
{
    uint8_t each;
    (void)context;
    for (each = 0; each < STOPS; each++) {
        if (!board_contact((uint8_t)(CONTACT_STOP + each), BOARD_LOOK)) {
            return 1;
        }
    }
    return 0;
}
#endif

#if HAS_LAMP
static void board_lamp(void *context, int lit)
{
    (void)context;
    board_contact(CONTACT_LAMP, lit ? BOARD_LIGHT : BOARD_DARK);
}
#endif

static struct clickstop_pendant pendant;

int main(void)
{
    struct clickstop_board board;
    memset(&board, 0, sizeof board);
    board.write_line = board_write;
    board.read_byte = board_read;
    board.position_closed = board_position;
    board.increment_closed = board_increment;
    board.enable_closed = board_enable;
    board.wheel_edges = board_wheel;
    board.milliseconds = board_milliseconds;
#if HAS_STOP
    board.stop_pressed = board_stop;
#endif
#if HAS_LAMP
    board.lamp = board_lamp;
#endif
    board_start();
    clickstop_pendant_start(&pendant, &board);
    for (;;) {
        clickstop_pendant_poll(&pendant);
    }
}
