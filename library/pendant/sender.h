/*
 * The reference sender. Call clickstop_start once and clickstop_poll at least every few milliseconds.
 *
 *   Turning the selector starts nothing: it has to rest first. Then the enable button is pressed anew and held, and
 *   the handwheel gives its clicks one way within the window; a reversal starts over. Nothing starts unless the
 *   controller is idle. Nothing starts again before the button was let go.
 *   Letting go, or turning the selector, while lines are left sends no further line, and the stop line if there is
 *   one. It stops nothing that the controller already has, unless the stop line or the wiring does: THIS IS NO
 *   EMERGENCY STOP.
 *   An answer that does not come in time is an error: no further line is sent. What is not the acknowledgement is no
 *   answer.
 *   A macro of several stages goes on with its next stage at the next gesture. Turning the selector, letting go and an
 *   error start it over.
 */

/* How long the controller has to be idle without a break before it counts as idle. Define it longer before if what
   controller_idle tells may be older than this: a line just sent must not look as if it were done. */
#ifndef CLICKSTOP_QUIET_MS
#define CLICKSTOP_QUIET_MS CLICKSTOP_USUAL_QUIET_MS
#endif
#ifndef CLICKSTOP_READ_MOST
#define CLICKSTOP_READ_MOST 256 /* bytes taken from the controller at a time */
#endif

struct clickstop_calls {
    void *context; /* handed to each of the others */
    void (*write_line)(void *context, const char *bytes, size_t count); /* a whole line, its end included */
    int (*read_byte)(void *context); /* the next byte from the controller, 0 to 255; -1: there is none yet */
    int (*button_held)(void *context); /* the enable button, without bounces; not 0: held */
    int (*controller_idle)(void *context); /* not 0: the controller says that it is idle */
    uint32_t (*milliseconds)(void *context); /* counts up, and over to 0 after 4294967295 */
};

enum clickstop_state {
    CLICKSTOP_TURNED, /* the selector has not rested long enough */
    CLICKSTOP_LET_GO_FIRST, /* the button was held too early */
    CLICKSTOP_READY, /* waiting for the button */
    CLICKSTOP_ENABLED, /* counting clicks */
    CLICKSTOP_SENDING, /* lines are being sent, or the controller is still at the last of them */
    CLICKSTOP_FINISHED, /* all is done; let go */
    CLICKSTOP_FAILED /* an answer did not come; let go */
};

enum clickstop_outcome {
    CLICKSTOP_NOTHING_YET,
    CLICKSTOP_DONE,
    CLICKSTOP_LET_GO, /* the button was let go, or the selector turned, before the end */
    CLICKSTOP_NO_ANSWER
};

struct clickstop_sender {
    const struct clickstop_calls *calls;
    enum clickstop_state state;
    enum clickstop_outcome outcome; /* how the last stage ended */
    unsigned position, increment;
    int slot; /* index in clickstop_slots, -1: none at this position and increment */
    unsigned stage; /* the stage of that slot that the next gesture starts, or that is being sent */
    uint32_t turned_at, wheel_at, sent_at, idle_since;
    uint32_t clicked_at[CLICKSTOP_CLICKS];
    uint32_t clicks;
    int direction;
    unsigned line, end; /* indexes in clickstop_lines: the next to be sent, and the one after the last */
    uint32_t patience;
    int answered, idle;
    size_t answer_length;
    char answer[sizeof clickstop_acknowledge];
    char buffer[CLICKSTOP_LONGEST_LINE + sizeof CLICKSTOP_LINE_END];
};

static inline int clickstop_passed(uint32_t now, uint32_t since, uint32_t span)
{
    return (uint32_t)(now - since) >= span;
}

/* Takes in what the controller has sent; a whole line that is the acknowledgement counts as the answer. */
static inline void clickstop_listen(struct clickstop_sender *sender)
{
    const size_t length = sizeof clickstop_acknowledge - 1;
    int left, byte;
    size_t i;
    for (left = CLICKSTOP_READ_MOST; left > 0; left--) {
        byte = sender->calls->read_byte(sender->calls->context);
        if (byte < 0) {
            return;
        }
        if (byte == '\n' || byte == '\r') {
            if (length > 0 && sender->answer_length == length) {
                for (i = 0; i < length && sender->answer[i] == clickstop_acknowledge[i]; i++) {
                }
                if (i == length) {
                    sender->answered = 1;
                }
            }
            sender->answer_length = 0;
        } else if (sender->answer_length < length) {
            sender->answer[sender->answer_length++] = (char)(unsigned char)byte;
        } else {
            sender->answer_length = length + 1; /* too long to be the acknowledgement */
        }
    }
}

static inline void clickstop_write(struct clickstop_sender *sender, const CLICKSTOP_FLASH char *line)
{
    static const char line_end[] = CLICKSTOP_LINE_END;
    size_t count = 0, i;
    for (i = 0; line[i] != '\0' && count < CLICKSTOP_LONGEST_LINE; i++) {
        sender->buffer[count++] = line[i];
    }
    for (i = 0; line_end[i] != '\0'; i++) {
        sender->buffer[count++] = line_end[i];
    }
    sender->calls->write_line(sender->calls->context, sender->buffer, count);
}

static inline void clickstop_send_next(struct clickstop_sender *sender, uint32_t now)
{
    clickstop_listen(sender); /* an answer that is there already belongs to no line still to be sent */
    sender->answered = 0;
    sender->idle = 0;
    sender->sent_at = now;
    clickstop_write(sender, clickstop_lines[sender->line++]);
}

static inline void clickstop_stop(struct clickstop_sender *sender, enum clickstop_outcome outcome)
{
    if (clickstop_stop_line[0] != '\0') {
        clickstop_write(sender, clickstop_stop_line);
    }
    sender->stage = 0;
    sender->outcome = outcome;
}

static inline void clickstop_fire(struct clickstop_sender *sender, uint32_t now)
{
    const unsigned stage = clickstop_stage_of(sender->slot, sender->stage);
    sender->line = clickstop_stages[stage].first_line;
    sender->end = sender->line + clickstop_stages[stage].lines;
    sender->patience = clickstop_stages[stage].patience_ms;
    sender->state = CLICKSTOP_SENDING;
    clickstop_send_next(sender, now);
}

/* Counts clicks one way; whether the last of them came within the window. */
static inline int clickstop_count(struct clickstop_sender *sender, int clicks, uint32_t now)
{
    const int direction = clicks < 0 ? -1 : 1;
    uint32_t first;
    int left = clicks < 0 ? (clicks < -CLICKSTOP_CLICKS ? CLICKSTOP_CLICKS : -clicks) : clicks;
    if (left > CLICKSTOP_CLICKS) {
        left = CLICKSTOP_CLICKS;
    }
    if (left > 0 && direction != sender->direction) {
        sender->direction = direction;
        sender->clicks = 0;
    }
    for (; left > 0; left--) {
        sender->clicked_at[sender->clicks % CLICKSTOP_CLICKS] = now;
        sender->clicks++;
        if (sender->clicks >= CLICKSTOP_CLICKS) {
            first = sender->clicked_at[sender->clicks % CLICKSTOP_CLICKS];
            if (!clickstop_passed(now, first, CLICKSTOP_WINDOW_MS + 1u)) {
                return 1;
            }
        }
    }
    return 0;
}

static inline void clickstop_go_on(struct clickstop_sender *sender, uint32_t now)
{
    const int last = sender->line == sender->end;
    if (sizeof clickstop_acknowledge > 1 && !sender->answered) {
        if (clickstop_passed(now, sender->sent_at, sender->patience)) {
            clickstop_stop(sender, CLICKSTOP_NO_ANSWER);
            sender->state = CLICKSTOP_FAILED;
        }
        return;
    }
    if (CLICKSTOP_WAITS_FOR_IDLE || last) {
        if (!sender->calls->controller_idle(sender->calls->context)) {
            sender->idle = 0;
            return;
        }
        if (!sender->idle) {
            sender->idle = 1;
            sender->idle_since = now;
        }
        if (!clickstop_passed(now, sender->idle_since, CLICKSTOP_QUIET_MS)) {
            return;
        }
    }
    if (!last) {
        clickstop_send_next(sender, now);
        return;
    }
    sender->stage = (sender->stage + 1) % clickstop_stage_count(sender->slot);
    sender->outcome = CLICKSTOP_DONE;
    sender->state = CLICKSTOP_FINISHED;
}

static inline void clickstop_turn(struct clickstop_sender *sender, unsigned position, unsigned increment, uint32_t now)
{
    sender->position = position;
    sender->increment = increment;
    sender->slot = clickstop_find(position, increment);
    sender->stage = 0;
    sender->turned_at = now;
    sender->state = CLICKSTOP_TURNED;
}

/* Begins with the selectors where they stand; they have to rest before anything can start. */
static inline void clickstop_start(struct clickstop_sender *sender, const struct clickstop_calls *calls,
                                   unsigned position, unsigned increment)
{
    const uint32_t now = calls->milliseconds(calls->context);
    sender->calls = calls;
    sender->outcome = CLICKSTOP_NOTHING_YET;
    sender->wheel_at = now;
    sender->clicks = 0;
    sender->direction = 0;
    sender->line = sender->end = 0;
    sender->answered = sender->idle = 0;
    sender->answer_length = 0;
    clickstop_turn(sender, position, increment, now);
}

/*
 * One look at the pendant: where the selectors stand, counted from 0, and the clicks of the handwheel since the last
 * look, one way positive and the other negative. Gives the state, which a lamp or a display may show.
 */
static inline enum clickstop_state clickstop_poll(struct clickstop_sender *sender, unsigned position,
                                                  unsigned increment, int clicks)
{
    const struct clickstop_calls *calls = sender->calls;
    const uint32_t now = calls->milliseconds(calls->context);
    const int held = !CLICKSTOP_ENABLE_HELD || calls->button_held(calls->context);
    int let_go;

    if (clicks != 0) {
        sender->wheel_at = now;
    }
    /* Where no button is to be held, a handwheel that rests stands for one that was let go. */
    let_go = CLICKSTOP_ENABLE_HELD ? !held : clickstop_passed(now, sender->wheel_at, CLICKSTOP_SETTLE_MS);
    clickstop_listen(sender);

    if (position != sender->position || increment != sender->increment) {
        if (sender->state == CLICKSTOP_SENDING) {
            clickstop_stop(sender, CLICKSTOP_LET_GO);
        }
        clickstop_turn(sender, position, increment, now);
        return sender->state;
    }
    switch (sender->state) {
    case CLICKSTOP_TURNED:
        if (clickstop_passed(now, sender->turned_at, CLICKSTOP_SETTLE_MS)) {
            sender->state = let_go ? CLICKSTOP_READY : CLICKSTOP_LET_GO_FIRST;
        }
        break;
    case CLICKSTOP_LET_GO_FIRST:
    case CLICKSTOP_FAILED:
        if (let_go) {
            sender->state = CLICKSTOP_READY;
        }
        break;
    case CLICKSTOP_READY:
        if (held) {
            sender->clicks = 0;
            sender->direction = 0;
            sender->state = CLICKSTOP_ENABLED;
        }
        break;
    case CLICKSTOP_ENABLED:
        if (!held) {
            sender->state = CLICKSTOP_READY;
        } else if (clickstop_count(sender, clicks, now)) {
            sender->clicks = 0;
            if (sender->slot >= 0 && calls->controller_idle(calls->context)) {
                clickstop_fire(sender, now);
            }
        }
        break;
    case CLICKSTOP_SENDING:
        if (!held) {
            clickstop_stop(sender, CLICKSTOP_LET_GO);
            sender->state = CLICKSTOP_READY;
        } else {
            clickstop_go_on(sender, now);
        }
        break;
    case CLICKSTOP_FINISHED:
        if (let_go) {
            if (CLICKSTOP_ENABLE_HELD && clickstop_stop_line[0] != '\0' && !calls->controller_idle(calls->context)) {
                clickstop_stop(sender, CLICKSTOP_LET_GO); /* it had only seemed to be idle */
            }
            sender->state = CLICKSTOP_READY;
        }
        break;
    }
    return sender->state;
}
