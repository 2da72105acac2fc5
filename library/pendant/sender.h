/*
 * sender.h: the gesture that fires a macro, and the sending of its lines.
 *
 * C99 without dependencies, also C++17. Include it in one source file. Fill in struct clickstop_calls, call
 * clickstop_start once and clickstop_poll at least every few milliseconds. A pendant whose selectors, wheel and lamp
 * are to be looked after as well includes pendant.h instead.
 *
 *   Turning the selector starts nothing: it has to rest first. Then the enable button is pressed anew and held, and the
 *   wheel makes the runs of clicks of the gesture within the window, from rest to rest; the first may go either way.
 *   A click too many or the wrong way starts over once the wheel has rested. Nothing starts unless the controller is
 *   idle, as far as there is a way to know. Nothing starts again before the button was let go.
 *
 *   A line is sent once the one before has its answer, and the line is quiet. An answer of which a part had come when a
 *   line went out does not count for that line. An answer that does not come in time, or that says the line was
 *   refused, is an error.
 *
 *   Letting go, a turn of a selector, a stop and an error send nothing more but the stop line, if there is one. That
 *   stops nothing which the controller already has, unless the stop line or the wiring does: THIS IS NO EMERGENCY STOP.
 *
 *   A stop lasts: nothing fires until it is released, then enable is let go and the selector turned away and back.
 *
 *   Where the controller keeps what was stopped and goes on with it when it is resumed, nothing is sent behind that:
 *   after the stop line it has to be told that the controller is idle. Where nothing tells, it is until power-up.
 *
 *   So it is where a line has no answer and no stop line drops it: a late answer would count for the next line. Nothing
 *   is sent before it has come, or the controller has told that it is idle, or power-up.
 *
 *   A macro of several stages goes on with its next stage at the next gesture, also after the selector was turned away,
 *   to jog an axis, and back. Another macro, letting go before the end of a stage, a stop and an error start it over.
 */
#ifndef CLICKSTOP_SENDER_H
#define CLICKSTOP_SENDER_H

#include "slots.h"

/* Our choices. */
#define CLICKSTOP_GAP_MS 5u        /* nothing may have come in for so long when a line goes out */
#define CLICKSTOP_ASK_MS 500u      /* how long the answer to idle_ask may take when a macro is to start */
#define CLICKSTOP_ASK_AGAIN_MS 200u /* between two lines it is asked again after so long */
#define CLICKSTOP_ASK_GAP_MS 50u   /* and nothing may have come in for so long after it said that it is idle */
#define CLICKSTOP_PART_MS 1000u    /* a part of a line after which nothing comes for so long was noise */
#define CLICKSTOP_READ_MOST 64     /* bytes taken from the controller at a time */
#define CLICKSTOP_HEARD_LEAST 40   /* bytes kept of a line that comes in, at least */

#define CLICKSTOP_HEARD \
    (CLICKSTOP_LONGEST_ANSWER + 1 > CLICKSTOP_HEARD_LEAST ? CLICKSTOP_LONGEST_ANSWER + 1 : CLICKSTOP_HEARD_LEAST)

struct clickstop_calls {
    void *context; /* handed to each of the others */
    /* Sends a whole line, its end included. */
    void (*write_line)(void *context, const char *bytes, size_t count);
    /* The next byte from the controller, 0 to 255; -1: there is none yet. */
    int (*read_byte)(void *context);
    /* A whole line that came in and is no acknowledgement: an error, a report, a greeting. Cut where it is longer than
       CLICKSTOP_HEARD. It ends with a 0. May be NULL. */
    void (*on_line)(void *context, const char *line, size_t length);
    /* Not 0: the enable button is held. Without bounces. */
    int (*button_held)(void *context);
    /* Not 0: the stop input is pressed, or its lead is broken. NULL where there is none. */
    int (*stop_pressed)(void *context);
    /* Not 0: the controller is idle. NULL where nothing tells: then idle_ask or settle of the sheet does, or nothing. */
    int (*controller_idle)(void *context);
    /* Counts up, and over to 0 after 4294967295. */
    uint32_t (*milliseconds)(void *context);
};

enum clickstop_state {
    CLICKSTOP_TURNED,       /* the selector has not rested long enough */
    CLICKSTOP_LET_GO_FIRST, /* the button was held too early */
    CLICKSTOP_READY,        /* waiting for the button */
    CLICKSTOP_ENABLED,      /* counting clicks */
    CLICKSTOP_ASKING,       /* the gesture is whole; is the controller idle? */
    CLICKSTOP_SENDING,      /* lines are being sent, or the controller is still at the last of them */
    CLICKSTOP_FINISHED,     /* all is done; let go */
    CLICKSTOP_FAILED,       /* a line was refused or not answered; let go */
    CLICKSTOP_STOPPED       /* release the stop, let go, turn the selector away and back */
};

/* Why nothing fires, or how it ended. The numbers are the flashes of the lamp. */
enum clickstop_why {
    CLICKSTOP_NOTHING_TO_TELL = 0,
    CLICKSTOP_HELD_EARLY = 1,  /* enable was held before the selector had rested */
    CLICKSTOP_WRONG_TURN = 2,  /* a click too many, the wrong way, too late, or the wheel had not rested */
    CLICKSTOP_NO_MACRO = 3,    /* there is no macro here that may be sent */
    CLICKSTOP_NOT_IDLE = 4,    /* the controller is busy, or does not say that it is not */
    CLICKSTOP_LET_GO = 5,      /* the button was let go, or a selector turned, before the end */
    CLICKSTOP_REFUSED = 6,     /* the controller refused line `at_line` */
    CLICKSTOP_NO_ANSWER = 7,   /* no answer to line `at_line` came in time */
    CLICKSTOP_WAS_STOPPED = 8, /* the stop was pressed */
    CLICKSTOP_DONE = 9         /* all lines were sent and answered */
};

/* What a lamp shows: dark, lit, or so many flashes and a pause. */
#define CLICKSTOP_LAMP_DARK 0u
#define CLICKSTOP_LAMP_LIT 255u

enum clickstop_phase {
    CLICKSTOP_PHASE_NEXT,   /* the next line goes out as soon as the line is quiet */
    CLICKSTOP_PHASE_ANSWER, /* an answer is waited for */
    CLICKSTOP_PHASE_IDLE    /* the controller has to be idle before it goes on */
};

enum clickstop_count {
    CLICKSTOP_COUNT_NONE,
    CLICKSTOP_COUNT_RUNNING,
    CLICKSTOP_COUNT_WHOLE,
    CLICKSTOP_COUNT_WRONG
};

struct clickstop_sender {
    const struct clickstop_calls *calls;
    enum clickstop_state state;
    enum clickstop_why why;
    unsigned at_line; /* the line that was refused or not answered, counted from 1 within what the gesture sends; 0: it
                         was one that asks or settles beforehand */
    unsigned position, increment;
    int slot; /* -1: none at this position and increment */
    unsigned stage; /* the stage that the next gesture starts, or that is being sent */
    int kept_slot;  /* the slot whose last stage was sent to its end, -1: none; and the stage that is its next */
    unsigned kept_stage;
    uint32_t turned_at, sent_at, heard_at, patience, motion, idle_since, asked_at;
    /* the gesture */
    uint32_t clicked_at, first_click_at;
    enum clickstop_count counting;
    int sense;
    unsigned run, clicks_of_run;
    /* what is being sent */
    enum clickstop_phase phase;
    unsigned first_line, line, end; /* the next line to be sent, and the one after the last */
    uint8_t waiting;  /* a line has no answer yet */
    uint8_t moving;   /* what was sent may still be going on */
    uint8_t settling; /* the line that is sent or waited for is the settle line */
    uint8_t asking, idle_heard, idle_running, refused;
    uint8_t jogging; /* lines of a jog are on their way; kept by pendant.h */
    uint8_t held;    /* the controller may hold what was stopped, and would go on with it, or owes an answer */
    /* the stop */
    uint8_t pressed, stop_released, stop_let_go, stop_away;
    uint8_t stop_place; /* `stop_position` is where the selector stood, and not between two */
    unsigned stop_position;
    /* what comes in */
    uint8_t stale; /* a part of it had come when a line went out */
    size_t heard_length;
    char heard[CLICKSTOP_HEARD + 1];
    char buffer[CLICKSTOP_LONGEST_LINE + sizeof CLICKSTOP_LINE_END];
};

static inline int clickstop_passed(uint32_t now, uint32_t since, uint32_t span)
{
    return (uint32_t)(now - since) >= span;
}

/* The last line has its answer: what was stopped is held no longer, unless the stop line itself makes it so. */
static inline void clickstop_answered(struct clickstop_sender *sender)
{
    sender->waiting = 0u;
    if (!CLICKSTOP_STOP_HOLDS) {
        sender->held = 0u;
    }
}

/* A whole line has come in. */
static inline void clickstop_take(struct clickstop_sender *sender)
{
    const size_t length = sender->heard_length;
    const int active = sender->state == CLICKSTOP_SENDING || sender->state == CLICKSTOP_ASKING ||
                       sender->state == CLICKSTOP_FINISHED || sender->jogging || (sender->held && sender->settling);
    if (clickstop_is_error(sender->heard, length)) {
        if (active) {
            sender->refused = 1u;
        }
        clickstop_answered(sender);
    } else if (sender->asking && clickstop_is_idle(sender->heard, length)) {
        sender->asking = 0u;
        sender->idle_heard = 1u;
        return;
    } else if (clickstop_is_answer(sender->heard, length)) {
        if (!sender->stale) {
            clickstop_answered(sender);
        }
        return;
    }
    if (sender->calls->on_line != NULL) {
        const size_t kept = length < CLICKSTOP_HEARD ? length : CLICKSTOP_HEARD;
        sender->heard[kept] = '\0';
        sender->calls->on_line(sender->calls->context, sender->heard, kept);
    }
}

static inline void clickstop_listen(struct clickstop_sender *sender, uint32_t now)
{
    int left, byte;
    if (clickstop_passed(now, sender->heard_at, CLICKSTOP_PART_MS)) {
        sender->heard_length = 0; /* such as a byte that the controller's power-up makes on the line */
    }
    for (left = CLICKSTOP_READ_MOST; left > 0; left--) {
        byte = sender->calls->read_byte(sender->calls->context);
        if (byte < 0) {
            return;
        }
        sender->heard_at = now;
        if (byte == '\n' || byte == '\r') {
            if (sender->heard_length > 0u) {
                clickstop_take(sender);
            }
            sender->heard_length = 0;
            sender->stale = 0u;
        } else {
            if (sender->heard_length < CLICKSTOP_HEARD) {
                sender->heard[sender->heard_length] = (char)(unsigned char)byte;
            }
            if (sender->heard_length <= CLICKSTOP_HEARD) {
                sender->heard_length++;
            }
        }
    }
}

/* Nothing has come in for a while, so that what comes next is the answer to what is sent now. */
static inline int clickstop_quiet(const struct clickstop_sender *sender, uint32_t now)
{
    return clickstop_passed(now, sender->heard_at, CLICKSTOP_GAP_MS);
}

/* Sends the text in the buffer as a line; a text that ends in a control byte goes as it is. */
static inline void clickstop_write(struct clickstop_sender *sender, size_t count)
{
    static const char line_end[] = CLICKSTOP_LINE_END;
    size_t i;
    if (count > CLICKSTOP_LONGEST_LINE) {
        count = CLICKSTOP_LONGEST_LINE;
    }
    if (count > 0u && (unsigned char)sender->buffer[count - 1u] >= 0x20u) {
        for (i = 0; line_end[i] != '\0'; i++) {
            sender->buffer[count++] = line_end[i];
        }
    }
    if (sender->heard_length > 0u) {
        sender->stale = 1u;
    }
    sender->calls->write_line(sender->calls->context, sender->buffer, count);
}

/* The line in the buffer is one that is answered. */
static inline void clickstop_send(struct clickstop_sender *sender, size_t count, uint32_t now)
{
    sender->waiting = CLICKSTOP_ANSWERS;
    sender->moving = 1u;
    sender->idle_running = 0u;
    sender->sent_at = now;
    clickstop_write(sender, count);
}

static inline void clickstop_ask(struct clickstop_sender *sender, uint32_t now)
{
    sender->asking = 1u;
    sender->idle_heard = 0u;
    sender->asked_at = now;
    clickstop_write(sender, clickstop_idle_ask(sender->buffer, sizeof sender->buffer));
}

/* Nothing more is sent but the stop line. */
static inline void clickstop_cease(struct clickstop_sender *sender, enum clickstop_why why)
{
    const size_t count = clickstop_stop_line(sender->buffer, sizeof sender->buffer);
    if (count > 0u) {
        clickstop_write(sender, count);
    }
    if (why != CLICKSTOP_LET_GO || sender->slot >= 0) { /* letting go of a jog is no end of a macro */
        sender->kept_slot = -1;
    }
    sender->stage = 0;
    sender->asking = 0u;
    sender->refused = 0u;
    sender->jogging = 0u;
    sender->moving = 0u;
    sender->settling = 0u;
    sender->held = CLICKSTOP_STOP_HOLDS || (sender->waiting && count == 0u);
    sender->why = why;
}

static inline void clickstop_fail(struct clickstop_sender *sender, enum clickstop_why why, unsigned line)
{
    clickstop_cease(sender, why);
    sender->at_line = line;
    sender->state = CLICKSTOP_FAILED;
}

/*
 * Whether what was sent may still be going on. What nothing tells to be over counts as going on for the longest that it
 * was proved to take; a controller that tells is asked for as long as an answer would be waited for.
 */
static inline int clickstop_still_moving(struct clickstop_sender *sender, uint32_t now)
{
    const struct clickstop_calls *calls = sender->calls;
    if (sender->jogging) {
        return 1;
    }
    if (sender->moving && clickstop_passed(now, sender->sent_at,
                                           calls->controller_idle != NULL ? sender->patience : sender->motion)) {
        sender->moving = 0u;
    }
    if (sender->moving && calls->controller_idle != NULL) {
        return !calls->controller_idle(calls->context); /* asked again, for it may have only seemed to be idle */
    }
    return sender->moving;
}

/* The way in which the controller's being idle is known, once its answers are in. */
enum clickstop_means {
    CLICKSTOP_BY_CALL,
    CLICKSTOP_BY_ASKING,
    CLICKSTOP_BY_SETTLING,
    CLICKSTOP_BY_ANSWER,
    CLICKSTOP_BY_NOTHING
};

static inline enum clickstop_means clickstop_means_of(const struct clickstop_sender *sender)
{
    if (sender->calls->controller_idle != NULL) {
        return CLICKSTOP_BY_CALL;
    }
    if (CLICKSTOP_ANSWERS && CLICKSTOP_ANSWER_MEANS_DONE) {
        return CLICKSTOP_BY_ANSWER;
    }
    if (CLICKSTOP_ASKS) {
        return CLICKSTOP_BY_ASKING;
    }
    return CLICKSTOP_ANSWERS && CLICKSTOP_SETTLES ? CLICKSTOP_BY_SETTLING : CLICKSTOP_BY_NOTHING;
}

/* Idle without a break, as the call tells. */
static inline int clickstop_idle_for_long(struct clickstop_sender *sender, uint32_t now)
{
    if (!sender->calls->controller_idle(sender->calls->context)) {
        sender->idle_running = 0u;
        return 0;
    }
    if (!sender->idle_running) {
        sender->idle_running = 1u;
        sender->idle_since = now;
    }
    return clickstop_passed(now, sender->idle_since, CLICKSTOP_QUIET_MS);
}

/* Idle by asking: asks again until it says so, and waits for whatever else is answered to that. */
static inline int clickstop_idle_by_asking(struct clickstop_sender *sender, uint32_t now)
{
    if (sender->idle_heard) {
        return clickstop_passed(now, sender->heard_at, CLICKSTOP_ASK_GAP_MS);
    }
    if (!sender->asking || clickstop_passed(now, sender->asked_at, CLICKSTOP_ASK_AGAIN_MS)) {
        if (clickstop_quiet(sender, now)) {
            clickstop_ask(sender, now);
        }
    }
    return 0;
}

/* Nothing but the answer to the settle line tells that the controller is idle. */
static inline int clickstop_only_settles(const struct clickstop_sender *sender)
{
    return sender->calls->controller_idle == NULL && !CLICKSTOP_ASKS && CLICKSTOP_ANSWERS && CLICKSTOP_SETTLES;
}

/*
 * Whether what the controller may hold is over, and no more is held: by the call, by asking, or by the settle line, whose
 * answer comes once all that was before it is done. An answer to a line is no means, for the stop line may have one too.
 */
static inline int clickstop_nothing_held(struct clickstop_sender *sender, uint32_t now)
{
    if (sender->held && sender->calls->controller_idle != NULL) {
        sender->held = !sender->calls->controller_idle(sender->calls->context);
    } else if (sender->held && CLICKSTOP_ASKS) {
        if (clickstop_idle_by_asking(sender, now)) {
            sender->held = sender->asking = sender->idle_heard = 0u;
        }
    } else if (sender->held && clickstop_only_settles(sender) && !sender->waiting) {
        if (sender->settling) {
            sender->held = sender->settling = sender->moving = 0u;
        } else if (clickstop_quiet(sender, now)) {
            sender->settling = 1u;
            clickstop_send(sender, clickstop_settle_line(sender->buffer, sizeof sender->buffer), now);
        }
    }
    return !sender->held;
}

static inline void clickstop_begin(struct clickstop_sender *sender, uint32_t now)
{
    const struct clickstop_stage stage = clickstop_stage_of(sender->slot, sender->stage);
    sender->first_line = sender->line = stage.first_line;
    sender->end = stage.first_line + stage.lines;
    sender->patience = stage.patience_ms;
    sender->motion = stage.motion_ms;
    sender->settling = clickstop_means_of(sender) == CLICKSTOP_BY_SETTLING ||
                       (sender->held && clickstop_only_settles(sender));
    if (!sender->settling) {
        sender->held = 0u; /* the controller has told that it is idle */
    }
    sender->state = CLICKSTOP_SENDING;
    sender->phase = CLICKSTOP_PHASE_NEXT;
    sender->why = CLICKSTOP_NOTHING_TO_TELL;
    sender->refused = 0u;
    sender->sent_at = now;
}

/* The gesture is whole: fires, asks first, or tells why not. */
static inline void clickstop_try(struct clickstop_sender *sender, uint32_t now)
{
    const struct clickstop_calls *calls = sender->calls;
    sender->counting = CLICKSTOP_COUNT_NONE;
    if (sender->slot < 0 || clickstop_kind_at(sender->position, sender->increment) != CLICKSTOP_MACRO ||
        (!CLICKSTOP_ANSWERS && clickstop_stage_of(sender->slot, sender->stage).lines > 1u)) {
        sender->why = CLICKSTOP_NO_MACRO;
    } else if ((sender->waiting && (!clickstop_passed(now, sender->sent_at, sender->patience) ||
                                    (sender->held && clickstop_only_settles(sender)))) ||
               (calls->controller_idle != NULL && !calls->controller_idle(calls->context)) ||
               (sender->held && calls->controller_idle == NULL && !CLICKSTOP_ASKS && !clickstop_only_settles(sender))) {
        sender->why = CLICKSTOP_NOT_IDLE;
    } else if (calls->controller_idle == NULL && CLICKSTOP_ASKS) {
        sender->asking = sender->idle_heard = 0u;
        sender->turned_at = now; /* from here on the answer is waited for */
        sender->state = CLICKSTOP_ASKING;
    } else {
        clickstop_begin(sender, now);
    }
}

/* One click, 1 or -1. */
static inline void clickstop_count_one(struct clickstop_sender *sender, int click, uint32_t now)
{
    const int rested = clickstop_passed(now, sender->clicked_at, CLICKSTOP_REST_MS);
    int turn, way;
    sender->clicked_at = now;
    if (sender->counting == CLICKSTOP_COUNT_WRONG && rested) {
        sender->counting = CLICKSTOP_COUNT_NONE;
    }
    if (sender->counting == CLICKSTOP_COUNT_NONE && rested) {
        turn = clickstop_turn_of(0);
        sender->sense = (turn < 0) == (click < 0) ? 1 : -1;
        sender->run = 0;
        sender->clicks_of_run = 0;
        sender->first_click_at = now;
        sender->counting = CLICKSTOP_COUNT_RUNNING;
        sender->why = CLICKSTOP_NOTHING_TO_TELL;
    }
    if (sender->counting == CLICKSTOP_COUNT_RUNNING) {
        turn = clickstop_turn_of(sender->run);
        if (sender->clicks_of_run == (unsigned)(turn < 0 ? -turn : turn) &&
            sender->run + 1u < (unsigned)CLICKSTOP_RUNS) {
            sender->run++;
            sender->clicks_of_run = 0;
            turn = clickstop_turn_of(sender->run);
        }
        way = turn < 0 ? -sender->sense : sender->sense;
        if (way == click && !clickstop_passed(now, sender->first_click_at, CLICKSTOP_WINDOW_MS + 1u)) {
            sender->clicks_of_run++;
            if (sender->run + 1u == (unsigned)CLICKSTOP_RUNS &&
                sender->clicks_of_run == (unsigned)(turn < 0 ? -turn : turn)) {
                sender->counting = CLICKSTOP_COUNT_WHOLE;
            }
            return;
        }
    }
    sender->counting = CLICKSTOP_COUNT_WRONG;
    sender->why = CLICKSTOP_WRONG_TURN;
}

/* Whether the gesture is whole and the wheel has rested after it. */
static inline int clickstop_counted(struct clickstop_sender *sender, int clicks, uint32_t now)
{
    int left = clicks < 0 ? -clicks : clicks;
    if (sender->counting == CLICKSTOP_COUNT_WHOLE && clicks == 0) {
        return clickstop_passed(now, sender->clicked_at, CLICKSTOP_REST_MS);
    }
    for (; left > 0; left--) {
        clickstop_count_one(sender, clicks < 0 ? -1 : 1, now);
    }
    if (sender->counting == CLICKSTOP_COUNT_RUNNING &&
        clickstop_passed(now, sender->first_click_at, CLICKSTOP_WINDOW_MS + 1u)) {
        sender->counting = CLICKSTOP_COUNT_NONE;
        sender->why = CLICKSTOP_WRONG_TURN;
    }
    return 0;
}

static inline void clickstop_finish(struct clickstop_sender *sender)
{
    sender->stage = (sender->stage + 1u) % clickstop_stages_of(sender->slot);
    sender->kept_slot = sender->slot;
    sender->kept_stage = sender->stage;
    sender->why = CLICKSTOP_DONE;
    sender->state = CLICKSTOP_FINISHED;
}

/* A line and what belongs to it are over: the next one, or the end. */
static inline void clickstop_advance(struct clickstop_sender *sender)
{
    if (sender->line == sender->end) {
        clickstop_finish(sender);
    } else {
        sender->phase = CLICKSTOP_PHASE_NEXT;
    }
}

static inline void clickstop_go_on(struct clickstop_sender *sender, uint32_t now)
{
    const enum clickstop_means means = clickstop_means_of(sender);
    const int late = clickstop_passed(now, sender->sent_at, sender->patience);
    const unsigned number = sender->line - sender->first_line;
    switch (sender->phase) {
    case CLICKSTOP_PHASE_NEXT:
        if (means == CLICKSTOP_BY_CALL && number == 0u && !sender->calls->controller_idle(sender->calls->context)) {
            sender->why = CLICKSTOP_NOT_IDLE; /* it was idle when the gesture was whole, and is no more */
            sender->state = CLICKSTOP_ENABLED;
        } else if (clickstop_quiet(sender, now)) {
            if (sender->settling) {
                clickstop_send(sender, clickstop_settle_line(sender->buffer, sizeof sender->buffer), now);
            } else {
                clickstop_send(sender, clickstop_line(sender->line, sender->buffer, sizeof sender->buffer), now);
                sender->line++;
            }
            sender->phase = CLICKSTOP_PHASE_ANSWER;
        } else if (late) {
            clickstop_fail(sender, CLICKSTOP_NO_ANSWER, number);
        }
        break;
    case CLICKSTOP_PHASE_ANSWER:
        if (sender->waiting) {
            if (late) {
                clickstop_fail(sender, CLICKSTOP_NO_ANSWER, number);
            }
        } else if (sender->settling || means == CLICKSTOP_BY_ANSWER) {
            if (sender->settling) {
                sender->held = 0u;
            }
            sender->settling = 0u;
            sender->moving = 0u;
            clickstop_advance(sender);
        } else if (means == CLICKSTOP_BY_NOTHING || (sender->line < sender->end && !CLICKSTOP_WAITS_FOR_IDLE)) {
            clickstop_advance(sender);
        } else if (means == CLICKSTOP_BY_SETTLING) {
            sender->settling = 1u;
            sender->phase = CLICKSTOP_PHASE_NEXT;
        } else {
            sender->asking = sender->idle_heard = 0u;
            sender->phase = CLICKSTOP_PHASE_IDLE;
        }
        break;
    case CLICKSTOP_PHASE_IDLE:
        if (means == CLICKSTOP_BY_CALL ? clickstop_idle_for_long(sender, now) : clickstop_idle_by_asking(sender, now)) {
            sender->idle_heard = 0u;
            sender->moving = means == CLICKSTOP_BY_CALL;
            clickstop_advance(sender);
        } else if (late) {
            clickstop_fail(sender, CLICKSTOP_NO_ANSWER, number);
        }
        break;
    }
}

static inline void clickstop_turn(struct clickstop_sender *sender, unsigned position, unsigned increment, uint32_t now)
{
    sender->position = position;
    sender->increment = increment;
    sender->slot = clickstop_find(position, increment);
    sender->stage = sender->slot >= 0 && sender->slot == sender->kept_slot ? sender->kept_stage : 0u;
    sender->turned_at = now;
    sender->state = CLICKSTOP_TURNED;
}

/* Begins with the selectors where they stand; they have to rest before anything can start. */
static inline void clickstop_start(struct clickstop_sender *sender, const struct clickstop_calls *calls,
                                   unsigned position, unsigned increment)
{
    const uint32_t now = calls->milliseconds(calls->context);
    memset(sender, 0, sizeof *sender);
    sender->calls = calls;
    sender->clicked_at = sender->heard_at = sender->sent_at = now;
    sender->stop_position = CLICKSTOP_NONE;
    sender->kept_slot = -1;
    clickstop_turn(sender, position, increment, now);
}

/*
 * The stop is pressed, or was and still holds everything; whether it does. A selector that is between two positions for
 * a moment was not turned away; one that stays there is on a position without a contact, as OFF often is.
 */
static inline int clickstop_stop_holds(struct clickstop_sender *sender, unsigned position, int let_go, uint32_t now)
{
    const struct clickstop_calls *calls = sender->calls;
    const int pressed = calls->stop_pressed != NULL && calls->stop_pressed(calls->context);
    if (pressed) {
        if (!sender->pressed) {
            clickstop_cease(sender, CLICKSTOP_WAS_STOPPED);
            sender->stop_position = sender->position;
            sender->stop_place = sender->position != CLICKSTOP_NONE ||
                                 clickstop_passed(now, sender->turned_at, CLICKSTOP_SETTLE_MS);
            sender->state = CLICKSTOP_STOPPED;
        }
        sender->stop_released = sender->stop_let_go = sender->stop_away = 0u;
    }
    sender->pressed = (uint8_t)pressed;
    if (sender->state != CLICKSTOP_STOPPED) {
        return 0;
    }
    if (position == CLICKSTOP_NONE && sender->position != CLICKSTOP_NONE) {
        sender->turned_at = now;
    }
    if (!pressed) {
        sender->stop_released = 1u;
        if (let_go) {
            sender->stop_let_go = 1u;
        }
        if (sender->stop_let_go &&
            (position != CLICKSTOP_NONE || clickstop_passed(now, sender->turned_at, CLICKSTOP_SETTLE_MS))) {
            if (!sender->stop_place) {
                sender->stop_place = 1u;
                sender->stop_position = position;
            } else if (position != sender->stop_position) {
                sender->stop_away = 1u;
            } else if (sender->stop_away) {
                return 0;
            }
        }
    }
    return 1;
}

/*
 * One look at the pendant: where the selectors stand, counted from 0 (CLICKSTOP_NONE: between two positions), and the
 * clicks of the wheel since the last look, one way positive and the other negative.
 */
static inline enum clickstop_state clickstop_poll(struct clickstop_sender *sender, unsigned position,
                                                  unsigned increment, int clicks)
{
    const struct clickstop_calls *calls = sender->calls;
    const uint32_t now = calls->milliseconds(calls->context);
    const int held = !CLICKSTOP_ENABLE_HELD || calls->button_held(calls->context);
    /* Where no button is to be held, a wheel that rests stands for one that was let go. */
    const int let_go = CLICKSTOP_ENABLE_HELD
                           ? !held
                           : clicks == 0 && clickstop_passed(now, sender->clicked_at, CLICKSTOP_SETTLE_MS);
    int whole;

    clickstop_listen(sender, now);
    if (clickstop_stop_holds(sender, position, let_go, now)) {
        if (clicks != 0) {
            sender->clicked_at = now;
        }
        sender->position = position;
        sender->increment = increment;
        return sender->state;
    }
    if (sender->state == CLICKSTOP_STOPPED) {
        sender->why = CLICKSTOP_NOTHING_TO_TELL;
        clickstop_turn(sender, position, increment, now);
    } else if (position != sender->position || increment != sender->increment) {
        if (sender->state == CLICKSTOP_SENDING || clickstop_still_moving(sender, now)) {
            clickstop_cease(sender, CLICKSTOP_LET_GO);
        } else if (sender->state == CLICKSTOP_FINISHED || sender->state == CLICKSTOP_ENABLED) {
            sender->why = CLICKSTOP_NOTHING_TO_TELL;
        }
        sender->refused = 0u;
        sender->asking = 0u;
        clickstop_turn(sender, position, increment, now);
    }
    if (sender->refused) {
        clickstop_fail(sender, CLICKSTOP_REFUSED,
                       sender->jogging ? sender->at_line : sender->line - sender->first_line);
    }
    switch (sender->state) {
    case CLICKSTOP_TURNED:
        if (clickstop_passed(now, sender->turned_at, CLICKSTOP_SETTLE_MS)) {
            sender->state = let_go ? CLICKSTOP_READY : CLICKSTOP_LET_GO_FIRST;
            if (!let_go) {
                sender->why = CLICKSTOP_HELD_EARLY;
            }
        }
        break;
    case CLICKSTOP_LET_GO_FIRST:
        if (let_go) {
            sender->why = CLICKSTOP_NOTHING_TO_TELL;
            sender->state = CLICKSTOP_READY;
        }
        break;
    case CLICKSTOP_FAILED:
        if (let_go) {
            sender->state = CLICKSTOP_READY;
        }
        break;
    case CLICKSTOP_READY:
        if (held) {
            sender->counting = CLICKSTOP_COUNT_NONE;
            sender->why = CLICKSTOP_NOTHING_TO_TELL;
            sender->state = CLICKSTOP_ENABLED;
        }
        break;
    case CLICKSTOP_ENABLED:
        if (!held) {
            if (clickstop_still_moving(sender, now)) {
                clickstop_cease(sender, CLICKSTOP_LET_GO);
            }
            sender->state = CLICKSTOP_READY;
        } else if (clickstop_kind_at(position, increment) != CLICKSTOP_AXIS) {
            whole = clickstop_counted(sender, clicks, now);
            if (whole) {
                clickstop_try(sender, now);
            }
            return sender->state;
        }
        break;
    case CLICKSTOP_ASKING:
        if (!held) {
            sender->asking = 0u;
            sender->why = CLICKSTOP_LET_GO;
            sender->state = CLICKSTOP_READY;
        } else if (clickstop_idle_by_asking(sender, now)) {
            sender->idle_heard = 0u;
            clickstop_begin(sender, now);
        } else if (clickstop_passed(now, sender->turned_at, CLICKSTOP_ASK_MS)) {
            sender->asking = 0u;
            sender->why = CLICKSTOP_NOT_IDLE;
            sender->state = CLICKSTOP_ENABLED;
        }
        break;
    case CLICKSTOP_SENDING:
        if (!held) {
            clickstop_cease(sender, CLICKSTOP_LET_GO);
            sender->state = CLICKSTOP_READY;
        } else {
            clickstop_go_on(sender, now);
        }
        break;
    case CLICKSTOP_FINISHED:
        if (let_go) {
            if (CLICKSTOP_ENABLE_HELD && clickstop_still_moving(sender, now)) {
                clickstop_cease(sender, CLICKSTOP_LET_GO);
            }
            sender->state = CLICKSTOP_READY;
        }
        break;
    case CLICKSTOP_STOPPED:
        break;
    }
    if (clicks != 0) {
        sender->clicked_at = now;
    }
    return sender->state;
}

/* What a lamp shows: lit while lines are sent, else as many flashes as the number of what there is to tell. */
static inline unsigned clickstop_lamp_code(const struct clickstop_sender *sender)
{
    if (sender->state == CLICKSTOP_SENDING || sender->state == CLICKSTOP_ASKING || sender->jogging) {
        return CLICKSTOP_LAMP_LIT;
    }
    return sender->why == CLICKSTOP_DONE ? CLICKSTOP_LAMP_DARK : (unsigned)sender->why;
}

#endif
