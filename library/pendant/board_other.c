/* ---- Any other board: fill in the functions up to the line below; each says what it has to do. ---- */

#define BOARD_PIN_NOT_KNOWN (-1) /* write your board's name or number of the pin in its place further down */

/* 1. Makes a pin an input, with a pull-up where `pull_up` is not 0; for the lamp an output. */
static void board_make_ready(int pin, int pull_up, int output)
{
    (void)pin;
    (void)pull_up;
    (void)output;
}

/* 2. Not 0: the pin is high. */
static int board_is_high(int pin, int otherwise)
{
    (void)pin;
    return otherwise; /* as if every contact were open: nothing is enabled, and the stop is pressed */
}

/* 3. Makes the lamp's pin high or low. */
static void board_make(int pin, int high)
{
    (void)pin;
    (void)high;
}

/* 4. Opens the serial port: CLICKSTOP_BAUD, 8 bits, no parity, 1 stop bit. What comes in waits until it is read. */
static void board_open_port(void)
{
}

/* 5. Sends all bytes; may wait until they are on their way. */
static void board_write(void *context, const char *bytes, size_t count)
{
    (void)context;
    (void)bytes;
    (void)count;
}

/* 6. The next byte that came in, 0 to 255; -1: there is none. */
static int board_read(void *context)
{
    (void)context;
    return -1;
}

/* 7. Milliseconds since power-up, over to 0 after 4294967295. */
static uint32_t board_milliseconds(void *context)
{
    (void)context;
    return 0u;
}

/* ---- Nothing to fill in from here on, but pins that are not known by a number. ---- */

static uint8_t board_pin(int pin, uint8_t closed_high, enum board_job job)
{
    if (pin < 0) {
        return 0u; /* not known: open for ever */
    }
    switch (job) {
    case BOARD_READY:
        board_make_ready(pin, !closed_high, 0);
        break;
    case BOARD_LOOK:
        return (board_is_high(pin, !closed_high) != 0) == (closed_high != 0u);
    case BOARD_LIGHT:
    case BOARD_DARK:
        board_make_ready(pin, 0, 1);
        board_make(pin, (job == BOARD_LIGHT) == (closed_high != 0u));
        break;
    }
    return 0u;
}

static uint8_t board_contact(unsigned contact, enum board_job job)
{
    switch (contact) {
@LEVELS@
    default:
        return 0u;
    }
}

static uint8_t board_levels;

static uint8_t board_wheel_levels(void)
{
    return (uint8_t)(2u * board_contact(CONTACT_WHEEL_A, BOARD_LOOK) + board_contact(CONTACT_WHEEL_B, BOARD_LOOK));
}

static void board_start(void)
{
    unsigned contact;
    for (contact = 0; contact < CONTACTS; contact++) {
        board_contact(contact, BOARD_READY);
    }
    board_open_port();
    board_levels = board_wheel_levels();
}

/* Looked at in the main loop. A wheel that is turned fast wants an interrupt every millisecond that adds these up. */
static int board_wheel(void *context)
{
    (void)context;
    return clickstop_wheel_edge(&board_levels, board_wheel_levels());
}
