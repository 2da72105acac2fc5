/* ---- 8-bit chips with avr-libc: the first serial port, timer 0 for the time, pins with their own pull-ups. ---- */

#include <avr/interrupt.h>
#include <avr/io.h>

#ifndef F_CPU
#error "say the chip's clock in hertz when building, such as -DF_CPU=16000000UL"
#endif
#if !defined(UCSR0A) || !defined(OCR0A)
#error "this chip has no serial port 0 or no timer 0 of the usual kind: write its registers in, or use the other board"
#endif
#if F_CPU / 64ul / 1000ul > 256ul
#error "the clock is faster than timer 0 can divide to a millisecond: use a larger divisor below"
#endif

/* The pin of a contact: an input whose pull-up is on where the contact closes to the common; an output for the lamp. */
static uint8_t board_port(volatile uint8_t *in, volatile uint8_t *direction, volatile uint8_t *out, uint8_t bit,
                          uint8_t closed_high, enum board_job job)
{
    const uint8_t mask = (uint8_t)(1u << bit);
    switch (job) {
    case BOARD_READY:
        if (!closed_high) {
            *out = (uint8_t)(*out | mask);
        }
        break;
    case BOARD_LOOK:
        return ((*in & mask) != 0u) == (closed_high != 0u);
    case BOARD_LIGHT:
    case BOARD_DARK:
        *out = (uint8_t)((job == BOARD_LIGHT) == (closed_high != 0u) ? *out | mask : *out & (uint8_t)~mask);
        *direction = (uint8_t)(*direction | mask);
        break;
    }
    return 0u;
}

static uint8_t board_contact(uint8_t contact, enum board_job job)
{
    switch (contact) {
@LEVELS@
    default:
        return 0u;
    }
}

/* What the interrupts write. Bytes that come in wait in a ring; one that does not fit is lost, and so is its line. */
#define BOARD_RING 64u
static volatile uint32_t board_time;
static volatile int8_t board_edges;
static volatile uint8_t board_ring[BOARD_RING], board_in, board_out;
static uint8_t board_levels;

static uint8_t board_wheel_levels(void)
{
    return (uint8_t)(2u * board_contact(CONTACT_WHEEL_A, BOARD_LOOK) + board_contact(CONTACT_WHEEL_B, BOARD_LOOK));
}

/* Every millisecond: so the wheel may make 1000 edges a second, two and a half turns of 100 clicks of 4. */
ISR(TIMER0_COMPA_vect)
{
    board_time++;
    board_edges = (int8_t)(board_edges + clickstop_wheel_edge(&board_levels, board_wheel_levels()));
}

#if defined(USART0_RX_vect)
ISR(USART0_RX_vect)
#else
ISR(USART_RX_vect)
#endif
{
    const uint8_t byte = UDR0, next = (uint8_t)((board_in + 1u) % BOARD_RING);
    if (next != board_out) {
        board_ring[board_in] = byte;
        board_in = next;
    }
}

static void board_start(void)
{
    uint8_t contact;
    for (contact = 0; contact < CONTACTS; contact++) {
        board_contact(contact, BOARD_READY);
    }
    UCSR0A = (uint8_t)(1u << U2X0);
    UBRR0 = (uint16_t)((F_CPU + 4ul * CLICKSTOP_BAUD) / (8ul * CLICKSTOP_BAUD) - 1ul);
    UCSR0C = (uint8_t)((1u << UCSZ01) | (1u << UCSZ00));
    UCSR0B = (uint8_t)((1u << RXEN0) | (1u << TXEN0) | (1u << RXCIE0));
    TCCR0A = (uint8_t)(1u << WGM01);
    OCR0A = (uint8_t)(F_CPU / 64ul / 1000ul - 1ul);
    TCCR0B = (uint8_t)((1u << CS01) | (1u << CS00)); /* the clock divided by 64 */
    TIMSK0 = (uint8_t)(1u << OCIE0A);
    board_levels = board_wheel_levels();
    sei();
}

static void board_write(void *context, const char *bytes, size_t count)
{
    (void)context;
    while (count-- > 0u) {
        while ((UCSR0A & (1u << UDRE0)) == 0u) {
        }
        UDR0 = (uint8_t)*bytes++;
    }
}

static int board_read(void *context)
{
    uint8_t byte;
    (void)context;
    if (board_out == board_in) {
        return -1;
    }
    byte = board_ring[board_out];
    board_out = (uint8_t)((board_out + 1u) % BOARD_RING);
    return byte;
}

static uint32_t board_milliseconds(void *context)
{
    uint32_t time;
    const uint8_t kept = SREG;
    (void)context;
    cli();
    time = board_time;
    SREG = kept;
    return time;
}

static int board_wheel(void *context)
{
    int8_t edges;
    const uint8_t kept = SREG;
    (void)context;
    cli();
    edges = board_edges;
    board_edges = 0;
    SREG = kept;
    return edges;
}
