/*
 * pendant.h: the whole pendant over a board: two selectors, the wheel, the enable button, a stop, a lamp.
 *
 * C99 without dependencies, also C++17. Include it in one source file. Fill in struct clickstop_board with functions
 * that tell how the contacts stand at this moment, bounces and all; call clickstop_pendant_start once and
 * clickstop_pendant_poll at least every few milliseconds. board.c does so.
 *
 *   A contact counts as closed once it has been so for a while; it counts as open at once. So the enable button is let
 *   go, and the selector turned, without delay. A selector stands where just one of its contacts is closed; with none or
 *   several it stands nowhere, and nothing happens.
 *
 *   On a position that drives an axis, each click sends the lines of a jog while enable is held. It has to be pressed
 *   anew there after the selector has rested, as for a macro. No more than CLICKSTOP_JOG_IN_FLIGHT jogs are under way;
 *   clicks meanwhile are merged up to what one line may be for, and the rest is dropped. Dead positions do nothing.
 *
 *   At power-up the lamp flashes the short number of the issue, sign by sign with a pause after each: 1 to 9, ten
 *   flashes for a 0, eleven to sixteen for a to f; until enable is pressed. Where a selector is turned before that, it
 *   flashes its place instead: once for the first position or increment, and so on; dark where no contact is closed.
 *
 *   Letting go in the middle of a jog sends nothing more either. Where the jog is "G91 G1 ..." and then G90, G91 may stay
 *   in force until the next line that changes it: macros set what they need, but a line typed at the panel may not.
 */
#ifndef CLICKSTOP_PENDANT_H
#define CLICKSTOP_PENDANT_H

#include "sender.h"

#define CLICKSTOP_BOUNCE_MS 25u /* contacts bounce for 1 to 20 ms (common practice) */
#define CLICKSTOP_FLASH_MS 200u /* a flash, and the dark after it (our choice) */
#define CLICKSTOP_PAUSE_MS 1200u /* after the last flash of a code (our choice) */
#define CLICKSTOP_NO_CONTACT (CLICKSTOP_NONE - 1u) /* a selector that was on a contact, or rested on none, is on none */

struct clickstop_board {
    void *context; /* handed to each of the others */
    /* Sends a whole line, its end included. */
    void (*write_line)(void *context, const char *bytes, size_t count);
    /* The next byte from the controller, 0 to 255; -1: there is none yet. */
    int (*read_byte)(void *context);
    /* Not 0: the contact of this position is closed; of this increment; of the enable button. */
    int (*position_closed)(void *context, unsigned position);
    int (*increment_closed)(void *context, unsigned increment); /* not asked where there is only one */
    int (*enable_closed)(void *context);
    /* How far the two signals of the wheel have gone since the last call, in edges; see clickstop_wheel_edge. */
    int (*wheel_edges)(void *context);
    uint32_t (*milliseconds)(void *context);
    /* Not 0: the stop is pressed. Its contact opens then, so that a broken lead stops too. May be NULL. */
    int (*stop_pressed)(void *context);
    /* Not 0: the controller is idle, by a wire for instance. May be NULL. */
    int (*controller_idle)(void *context);
    /* Switches the lamp. May be NULL. */
    void (*lamp)(void *context, int lit);
    /* Not 0: somebody asks for the issue, by a key held at power-up for instance. May be NULL. */
    int (*issue_asked)(void *context);
    /* Shows a text: the issue, and what the controller says that is no acknowledgement. May be NULL. */
    void (*show)(void *context, const char *text, size_t length);
};

/* What stands for some contacts of which one is closed: settled where it has been the only one for long enough. */
struct clickstop_contacts {
    unsigned settled, seen;
    uint32_t since;
};

struct clickstop_pendant {
    const struct clickstop_board *board;
    struct clickstop_calls calls;
    struct clickstop_sender sender;
    struct clickstop_contacts position, increment, enable, stop;
    int edges;
    uint32_t edge_at;
    /* the jog */
    int clicks;      /* waiting to be sent */
    int line_clicks; /* of the jog that is being sent */
    unsigned line, lines; /* its next line, and how many there are; 0: none is being sent */
    uint8_t under_way;
    uint8_t settling;
    uint8_t oldest;  /* of those under way, its place in `over_at` */
    uint32_t over_at[CLICKSTOP_JOG_IN_FLIGHT]; /* when each is over at the latest, where nothing else tells */
    /* the lamp */
    uint32_t lamp_at;
    unsigned code;
    uint8_t digit, telling, asked;
    uint8_t used;  /* enable was pressed since power-up: places are told no more */
    uint8_t place; /* flashes that tell where a selector was turned to */
    unsigned told_position, told_increment;
};

/*
 * One look at the wheel's two signals, `levels` being 2 * A + B: how far it went since the last one: 1 where A goes
 * first, -1 where B does. A jump of both at once has no direction and counts as nothing. `last` keeps the levels.
 */
static inline int clickstop_wheel_edge(uint8_t *last, unsigned levels)
{
    const unsigned before = *last & 3u, after = levels & 3u, changed = before ^ after;
    *last = (uint8_t)after;
    if (changed == 0u || changed == 3u) {
        return 0;
    }
    return ((before >> 1) ^ (after & 1u)) != 0u ? -1 : 1;
}

/* Takes in what is closed now, CLICKSTOP_NONE for nothing: it counts once it has lasted, and what ends ends at once. */
static inline unsigned clickstop_settle(struct clickstop_contacts *contacts, unsigned seen, uint32_t now)
{
    if (seen != contacts->seen) {
        contacts->seen = seen;
        contacts->since = now;
    }
    if (seen != contacts->settled) {
        contacts->settled = clickstop_passed(now, contacts->since, CLICKSTOP_BOUNCE_MS) ? seen : CLICKSTOP_NONE;
    }
    return contacts->settled;
}

static inline unsigned clickstop_only_closed(int (*closed)(void *, unsigned), void *context, unsigned count)
{
    unsigned each, found = CLICKSTOP_NONE;
    for (each = 0; each < count; each++) {
        if (closed(context, each)) {
            if (found != CLICKSTOP_NONE) {
                return CLICKSTOP_NONE;
            }
            found = each;
        }
    }
    return found;
}

static inline void clickstop_board_write(void *context, const char *bytes, size_t count)
{
    const struct clickstop_board *board = ((struct clickstop_pendant *)context)->board;
    board->write_line(board->context, bytes, count);
}

static inline int clickstop_board_read(void *context)
{
    const struct clickstop_board *board = ((struct clickstop_pendant *)context)->board;
    return board->read_byte(board->context);
}

static inline void clickstop_board_line(void *context, const char *line, size_t length)
{
    const struct clickstop_board *board = ((struct clickstop_pendant *)context)->board;
    if (board->show != NULL) {
        board->show(board->context, line, length);
    }
}

static inline int clickstop_board_held(void *context)
{
    return ((struct clickstop_pendant *)context)->enable.settled == 1u;
}

/* Pressed counts at once, released after it has lasted: the other way round than a contact that closes. */
static inline int clickstop_board_stopped(void *context)
{
    return ((struct clickstop_pendant *)context)->stop.settled != 1u;
}

static inline int clickstop_board_idle(void *context)
{
    const struct clickstop_board *board = ((struct clickstop_pendant *)context)->board;
    return board->controller_idle(board->context);
}

static inline uint32_t clickstop_board_time(void *context)
{
    const struct clickstop_board *board = ((struct clickstop_pendant *)context)->board;
    return board->milliseconds(board->context);
}

/* How many flashes a sign of the issue has: 1 to 9, ten for a 0, eleven to sixteen for a to f; 0: none. */
static inline unsigned clickstop_pendant_flashes(unsigned index)
{
    const char sign = CLICKSTOP_PRIVATE_CHAR(clickstop_private_issue + index);
    if (sign == '0') {
        return 10u;
    }
    if (sign > '0' && sign <= '9') {
        return (unsigned)(sign - '0');
    }
    return sign >= 'a' && sign <= 'f' ? (unsigned)(sign - 'a') + 11u : 0u;
}

/* Where the short number of the issue begins: after the last space. */
static inline uint8_t clickstop_pendant_number(void)
{
    uint8_t begins = 0u, i;
    for (i = 0u; i + 1u < sizeof clickstop_private_issue; i++) {
        if (CLICKSTOP_PRIVATE_CHAR(clickstop_private_issue + i) == ' ') {
            begins = (uint8_t)(i + 1u);
        }
    }
    return begins;
}

/* Shows the issue on the lamp, and as a text where the board can. */
static inline void clickstop_pendant_tell_issue(struct clickstop_pendant *pendant)
{
    const struct clickstop_board *board = pendant->board;
    char *const text = pendant->sender.buffer;
    const size_t room = sizeof pendant->sender.buffer;
    if (board->show != NULL) {
        const size_t length = clickstop_issue(text, room);
        board->show(board->context, text, length < room ? length : room - 1u);
    }
    pendant->telling = 1u;
    pendant->digit = clickstop_pendant_number();
    pendant->lamp_at = board->milliseconds(board->context);
}

static inline void clickstop_pendant_start(struct clickstop_pendant *pendant, const struct clickstop_board *board)
{
    const uint32_t now = board->milliseconds(board->context);
    memset(pendant, 0, sizeof *pendant);
    pendant->board = board;
    pendant->calls.context = pendant;
    pendant->calls.write_line = clickstop_board_write;
    pendant->calls.read_byte = clickstop_board_read;
    pendant->calls.on_line = clickstop_board_line;
    pendant->calls.button_held = clickstop_board_held;
    pendant->calls.stop_pressed = board->stop_pressed != NULL ? clickstop_board_stopped : NULL;
    pendant->calls.controller_idle = board->controller_idle != NULL ? clickstop_board_idle : NULL;
    pendant->calls.milliseconds = clickstop_board_time;
    pendant->position.settled = pendant->position.seen = CLICKSTOP_NONE;
    pendant->increment.settled = pendant->increment.seen = CLICKSTOP_NONE;
    pendant->enable.settled = pendant->enable.seen = CLICKSTOP_NONE;
    /* Until the stop has been looked at, it is as if it were not pressed: a line is sent only for one that is. */
    pendant->stop.settled = pendant->stop.seen = 1u;
    pendant->position.since = pendant->increment.since = pendant->enable.since = pendant->stop.since = now;
    pendant->told_position = pendant->told_increment = CLICKSTOP_NONE;
    pendant->edge_at = now;
    clickstop_start(&pendant->sender, &pendant->calls, CLICKSTOP_NONE, CLICKSTOP_NONE);
    clickstop_pendant_tell_issue(pendant);
}

/* The clicks since the last look. Where the wheel has rested, it rests in a click stop: odd edges were noise. */
static inline int clickstop_pendant_clicks(struct clickstop_pendant *pendant, uint32_t now)
{
    const struct clickstop_board *board = pendant->board;
    const int moved = board->wheel_edges(board->context);
    int clicks;
    if (moved != 0) {
        pendant->edge_at = now;
    } else if (clickstop_passed(now, pendant->edge_at, CLICKSTOP_REST_MS)) {
        pendant->edges = 0;
    }
    pendant->edges += moved;
    clicks = pendant->edges / CLICKSTOP_EDGES_PER_CLICK;
    pendant->edges -= clicks * CLICKSTOP_EDGES_PER_CLICK;
    return clicks;
}

/* Whether a jog may be sent at all: one of several lines only to a controller that answers. */
static inline int clickstop_pendant_may_jog(unsigned lines)
{
    return lines > 0u && (CLICKSTOP_ANSWERS || lines == 1u);
}

/* Jogs that are known to be over. */
static inline void clickstop_pendant_settle_jogs(struct clickstop_pendant *pendant, uint32_t now)
{
    struct clickstop_sender *sender = &pendant->sender;
    int over = 0;
    switch (clickstop_means_of(sender)) {
    case CLICKSTOP_BY_CALL:
        over = clickstop_idle_for_long(sender, now);
        break;
    case CLICKSTOP_BY_ASKING: /* where another jog may not be sent, or is not wanted */
        over = (sender->idle_heard || pendant->under_way >= CLICKSTOP_JOG_IN_FLIGHT || pendant->clicks == 0) &&
               clickstop_idle_by_asking(sender, now);
        break;
    case CLICKSTOP_BY_SETTLING:
    case CLICKSTOP_BY_ANSWER:
        over = 1; /* the last answer said so */
        break;
    case CLICKSTOP_BY_NOTHING: /* each by its longest time, as it was worked out */
        while (pendant->under_way > 0u && (int32_t)(now - pendant->over_at[pendant->oldest]) >= 0) {
            pendant->oldest = (uint8_t)((pendant->oldest + 1u) % CLICKSTOP_JOG_IN_FLIGHT);
            pendant->under_way--;
        }
        sender->jogging = pendant->under_way > 0u;
        return; /* it may still be moving: nothing has told that it is not */
    }
    if (over) {
        sender->idle_heard = 0u;
        sender->jogging = 0u;
        sender->moving = 0u;
        pendant->under_way = 0u;
    }
}

/* Sends the next line of the jog that has begun, once that may be. */
static inline void clickstop_pendant_jog_on(struct clickstop_pendant *pendant, uint32_t now)
{
    struct clickstop_sender *sender = &pendant->sender;
    if (sender->waiting) {
        if (clickstop_passed(now, sender->sent_at, sender->patience)) {
            clickstop_fail(sender, CLICKSTOP_NO_ANSWER, sender->at_line);
        }
    } else if (pendant->line < pendant->lines) {
        if (clickstop_quiet(sender, now)) {
            sender->at_line = pendant->line + 1u;
            clickstop_send(sender,
                           clickstop_jog_line(sender->position, sender->increment, pendant->line, pendant->line_clicks,
                                              sender->buffer, sizeof sender->buffer),
                           now);
            pendant->line++;
        } else if (clickstop_passed(now, sender->sent_at, sender->patience)) {
            clickstop_fail(sender, CLICKSTOP_NO_ANSWER, pendant->line);
        }
    } else if (clickstop_means_of(sender) == CLICKSTOP_BY_SETTLING && !pendant->settling) {
        if (clickstop_quiet(sender, now)) {
            pendant->settling = 1u;
            clickstop_send(sender, clickstop_settle_line(sender->buffer, sizeof sender->buffer), now);
        }
    } else {
        pendant->lines = 0; /* all of it is answered */
        sender->asking = sender->idle_heard = sender->idle_running = 0u;
    }
}

/* One more jog is under way; when it is over at the latest: it begins after the one before. */
static inline void clickstop_pendant_time(struct clickstop_pendant *pendant, uint32_t now)
{
    const struct clickstop_sender *sender = &pendant->sender;
    const unsigned place = (pendant->oldest + (unsigned)pendant->under_way) % CLICKSTOP_JOG_IN_FLIGHT;
    uint32_t begins = now + CLICKSTOP_JOG_LATENCY_MS;
    if (pendant->under_way > 0u) {
        const uint32_t before = pendant->over_at[(place + CLICKSTOP_JOG_IN_FLIGHT - 1u) % CLICKSTOP_JOG_IN_FLIGHT];
        if ((int32_t)(before - begins) > 0) {
            begins = before;
        }
    }
    pendant->over_at[place] = begins + clickstop_jog_ms(sender->position, sender->increment, pendant->clicks);
    pendant->under_way++;
}

static inline void clickstop_pendant_jog(struct clickstop_pendant *pendant, int clicks, uint32_t now)
{
    struct clickstop_sender *sender = &pendant->sender;
    const int most = clickstop_jog_most(sender->position, sender->increment);
    if (sender->state != CLICKSTOP_ENABLED || most == 0) {
        pendant->clicks = 0;
        pendant->lines = 0;
        pendant->under_way = 0u;
        pendant->settling = 0u;
        sender->jogging = 0u;
        return;
    }
    pendant->clicks += clicks;
    if (pendant->clicks > most) {
        pendant->clicks = most;
    } else if (pendant->clicks < -most) {
        pendant->clicks = -most;
    }
    if (pendant->clicks != 0 && !clickstop_nothing_held(sender, now)) {
        sender->why = CLICKSTOP_NOT_IDLE;
        pendant->clicks = 0; /* not for later: nobody knows when that is */
    }
    if (pendant->lines > 0u) {
        clickstop_pendant_jog_on(pendant, now);
    } else if (pendant->under_way > 0u) {
        clickstop_pendant_settle_jogs(pendant, now);
    }
    if (sender->state == CLICKSTOP_ENABLED && pendant->lines == 0u && pendant->clicks != 0 && !sender->idle_heard &&
        (!sender->asking || clickstop_passed(now, sender->asked_at, CLICKSTOP_ASK_AGAIN_MS)) &&
        pendant->under_way < CLICKSTOP_JOG_IN_FLIGHT &&
        clickstop_pendant_may_jog(clickstop_jog_lines(sender->position)) &&
        (!sender->waiting || clickstop_passed(now, sender->sent_at, sender->patience))) {
        clickstop_pendant_time(pendant, now);
        sender->why = CLICKSTOP_NOTHING_TO_TELL;
        pendant->line_clicks = pendant->clicks;
        pendant->clicks = 0;
        pendant->line = 0;
        pendant->lines = clickstop_jog_lines(sender->position);
        pendant->settling = 0u;
        sender->waiting = sender->asking = 0u;
        sender->jogging = 1u;
        sender->patience = sender->motion = CLICKSTOP_JOG_PATIENCE_MS;
        sender->sent_at = now;
        clickstop_pendant_jog_on(pendant, now);
    }
}

/* Before enable is first pressed: where a selector was turned to; where it stood at power-up is not told. */
static inline void clickstop_pendant_tell_place(struct clickstop_pendant *pendant, unsigned at, unsigned *told)
{
    if (at == CLICKSTOP_NONE && (*told != CLICKSTOP_NONE || pendant->sender.state != CLICKSTOP_TURNED)) {
        at = CLICKSTOP_NO_CONTACT;
    }
    if (at != *told) {
        if (*told != CLICKSTOP_NONE) {
            pendant->place = at == CLICKSTOP_NO_CONTACT ? 0u : (uint8_t)(at + 1u);
            pendant->telling = 0u;
        }
        *told = at;
    }
}

/* Whether the lamp is lit so long after a code began, of so many flashes and a pause. */
static inline int clickstop_lamp_lit(unsigned code, uint32_t since)
{
    if (code == CLICKSTOP_LAMP_DARK || code == CLICKSTOP_LAMP_LIT) {
        return code == CLICKSTOP_LAMP_LIT;
    }
    since %= code * 2u * CLICKSTOP_FLASH_MS + CLICKSTOP_PAUSE_MS;
    return since < code * 2u * CLICKSTOP_FLASH_MS && since / CLICKSTOP_FLASH_MS % 2u == 0u;
}

static inline void clickstop_pendant_lamp(struct clickstop_pendant *pendant, uint32_t now)
{
    const struct clickstop_board *board = pendant->board;
    unsigned code = clickstop_lamp_code(&pendant->sender);
    if (pendant->telling && code == CLICKSTOP_LAMP_DARK) {
        code = clickstop_pendant_flashes(pendant->digit);
        if (pendant->digit + 1u >= sizeof clickstop_private_issue) {
            pendant->telling = 0u;
            code = CLICKSTOP_LAMP_DARK;
        } else if (code == 0u || clickstop_passed(now, pendant->lamp_at,
                                                  code * 2u * CLICKSTOP_FLASH_MS + CLICKSTOP_PAUSE_MS)) {
            pendant->digit++;
            pendant->lamp_at = now;
            code = CLICKSTOP_LAMP_DARK;
        }
    } else {
        if (code == CLICKSTOP_LAMP_DARK) {
            code = pendant->place;
        }
        if (code != pendant->code) {
            pendant->lamp_at = now;
        }
    }
    pendant->code = code;
    if (board->lamp != NULL) {
        board->lamp(board->context, clickstop_lamp_lit(code, now - pendant->lamp_at));
    }
}

/* One look at the whole pendant. */
static inline enum clickstop_state clickstop_pendant_poll(struct clickstop_pendant *pendant)
{
    const struct clickstop_board *board = pendant->board;
    const uint32_t now = board->milliseconds(board->context);
    const unsigned position = clickstop_settle(
        &pendant->position, clickstop_only_closed(board->position_closed, board->context, CLICKSTOP_POSITIONS), now);
    const unsigned increment =
        CLICKSTOP_INCREMENTS == 1
            ? 0u
            : clickstop_settle(
                  &pendant->increment,
                  clickstop_only_closed(board->increment_closed, board->context, CLICKSTOP_INCREMENTS), now);
    const int clicks = clickstop_pendant_clicks(pendant, now);
    enum clickstop_state state;
    clickstop_settle(&pendant->enable, board->enable_closed(board->context) ? 1u : CLICKSTOP_NONE, now);
    if (board->stop_pressed != NULL) {
        clickstop_settle(&pendant->stop, board->stop_pressed(board->context) ? CLICKSTOP_NONE : 1u, now);
    }
    if (board->issue_asked != NULL) {
        const uint8_t asked = board->issue_asked(board->context) ? 1u : 0u;
        if (asked && !pendant->asked) {
            clickstop_pendant_tell_issue(pendant);
        }
        pendant->asked = asked;
    }
    if (pendant->enable.settled == 1u) {
        pendant->telling = pendant->place = 0u;
        pendant->used = 1u;
    } else if (!pendant->used) {
        clickstop_pendant_tell_place(pendant, position, &pendant->told_position);
        clickstop_pendant_tell_place(pendant, increment, &pendant->told_increment);
    }
    state = clickstop_poll(&pendant->sender, position, increment, clicks);
    clickstop_pendant_jog(pendant, clicks, now);
    clickstop_pendant_lamp(pendant, now);
    return pendant->sender.state == state ? state : pendant->sender.state;
}

#endif
