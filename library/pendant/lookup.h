#define CLICKSTOP_NONE 255u /* a selector between two positions, or on none */

enum clickstop_kind {
    CLICKSTOP_SPARE, /* no macro there at this increment */
    CLICKSTOP_AXIS,  /* the wheel drives an axis */
    CLICKSTOP_DEAD,  /* nothing happens there */
    CLICKSTOP_MACRO  /* the gesture fires a macro */
};

/* A stage of a macro is what one gesture sends: lines that follow one another, counted over the whole table. */
struct clickstop_stage {
    unsigned first_line, lines;
    uint32_t patience_ms; /* how long to wait for an answer before it counts as missing */
    uint32_t motion_ms;   /* the longest that all of it takes */
};

/* Copies a text out of flash and ends it with a 0; gives its whole length, even where there is less room. */
static inline size_t clickstop_private_text(const char *from, char *to, size_t room)
{
    size_t length = 0;
    char sign;
    while ((sign = CLICKSTOP_PRIVATE_CHAR(from + length)) != '\0') {
        if (length + 1u < room) {
            to[length] = sign;
        }
        length++;
    }
    if (room > 0u) {
        to[length < room ? length : room - 1u] = '\0';
    }
    return length;
}

static inline const char *clickstop_private_pointer(const char *const *from)
{
    const char *pointer;
    CLICKSTOP_PRIVATE_COPY(&pointer, from, sizeof pointer);
    return pointer;
}

/* How many signs of a text in flash `said` begins with; all of them: the text begins it. */
static inline int clickstop_private_begins(const char *said, size_t length, const char *text)
{
    size_t i;
    char sign;
    for (i = 0; (sign = CLICKSTOP_PRIVATE_CHAR(text + i)) != '\0'; i++) {
        if (i >= length || said[i] != sign) {
            return 0;
        }
    }
    return i > 0u;
}

/* The index of the slot at a position and an increment, both counted from 0; -1: none. */
static inline int clickstop_find(unsigned position, unsigned increment)
{
    struct clickstop_private_slot slot;
    int i;
    for (i = 0; i < CLICKSTOP_SLOTS; i++) {
        CLICKSTOP_PRIVATE_COPY(&slot, &clickstop_private_slots[i], sizeof slot);
        if (slot.position == position && slot.increment == increment) {
            return i;
        }
    }
    return -1;
}

/* What happens at a position and an increment. */
static inline enum clickstop_kind clickstop_kind_at(unsigned position, unsigned increment)
{
    struct clickstop_private_position at;
    if (position >= (unsigned)CLICKSTOP_POSITIONS) {
        return CLICKSTOP_DEAD;
    }
    CLICKSTOP_PRIVATE_COPY(&at, &clickstop_private_positions[position], sizeof at);
    if (at.kind == 2u) {
        return CLICKSTOP_DEAD;
    }
    if (at.kind == 1u) {
        return CLICKSTOP_AXIS;
    }
    return clickstop_find(position, increment) < 0 ? CLICKSTOP_SPARE : CLICKSTOP_MACRO;
}

static inline struct clickstop_private_macro clickstop_private_macro_of(int slot)
{
    struct clickstop_private_slot at;
    struct clickstop_private_macro macro;
    CLICKSTOP_PRIVATE_COPY(&at, &clickstop_private_slots[slot], sizeof at);
    CLICKSTOP_PRIVATE_COPY(&macro, &clickstop_private_macros[at.macro], sizeof macro);
    return macro;
}

/* How many stages the macro on a slot has; each is started by a gesture of its own. */
static inline unsigned clickstop_stages_of(int slot)
{
    return clickstop_private_macro_of(slot).stages;
}

/* A stage of the macro on a slot, counted from 0. */
static inline struct clickstop_stage clickstop_stage_of(int slot, unsigned stage)
{
    struct clickstop_private_stage found;
    struct clickstop_stage given;
    const unsigned index = clickstop_private_macro_of(slot).first_stage + stage;
    CLICKSTOP_PRIVATE_COPY(&found, &clickstop_private_stages[index], sizeof found);
    given.first_line = found.first_line;
    given.lines = found.lines;
    given.patience_ms = found.patience_ms;
    given.motion_ms = found.motion_ms;
    return given;
}

/* Texts: each copies into `to`, which has `room` bytes, ends it with a 0 and gives the whole length. */
static inline size_t clickstop_line(unsigned line, char *to, size_t room)
{
    return clickstop_private_text(clickstop_private_pointer(&clickstop_private_lines[line]), to, room);
}
static inline size_t clickstop_issue(char *to, size_t room)
{
    return clickstop_private_text(clickstop_private_issue, to, room);
}
static inline size_t clickstop_stop_line(char *to, size_t room)
{
    return clickstop_private_text(clickstop_private_stop_line, to, room);
}
static inline size_t clickstop_idle_ask(char *to, size_t room)
{
    return clickstop_private_text(clickstop_private_idle_ask, to, room);
}
static inline size_t clickstop_settle_line(char *to, size_t room)
{
    return clickstop_private_text(clickstop_private_settle, to, room);
}
static inline size_t clickstop_position_label(unsigned position, char *to, size_t room)
{
    return clickstop_private_text(clickstop_private_pointer(&clickstop_private_position_labels[position]), to, room);
}
static inline size_t clickstop_increment_label(unsigned increment, char *to, size_t room)
{
    return clickstop_private_text(clickstop_private_pointer(&clickstop_private_increment_labels[increment]), to, room);
}
/* The name of the macro on a slot, in UTF-8. */
static inline size_t clickstop_macro_name(int slot, char *to, size_t room)
{
    struct clickstop_private_slot at;
    CLICKSTOP_PRIVATE_COPY(&at, &clickstop_private_slots[slot], sizeof at);
    return clickstop_private_text(clickstop_private_pointer(&clickstop_private_macro_names[at.macro]), to, room);
}

/* The clicks of a run of the gesture, its sign the way round; the first run may go either way. */
static inline int clickstop_turn_of(unsigned run)
{
    int8_t clicks;
    CLICKSTOP_PRIVATE_COPY(&clicks, &clickstop_private_turns[run], sizeof clicks);
    return clicks;
}

/* What a whole line that came in says. */
static inline int clickstop_is_answer(const char *said, size_t length)
{
    return clickstop_private_begins(said, length, clickstop_private_acknowledge) &&
           (!CLICKSTOP_ANSWER_IS_WHOLE || length + 1u == sizeof clickstop_private_acknowledge);
}
static inline int clickstop_is_idle(const char *said, size_t length)
{
    return clickstop_private_begins(said, length, clickstop_private_idle_answer);
}
static inline int clickstop_is_error(const char *said, size_t length)
{
    int i;
    for (i = 0; i < CLICKSTOP_ERRORS; i++) {
        if (clickstop_private_begins(said, length, clickstop_private_pointer(&clickstop_private_errors[i]))) {
            return 1;
        }
    }
    return 0;
}

/* Jogging: whether the wheel moves anything at a position and an increment, and how. */
static inline struct clickstop_private_jog clickstop_private_jog_of(unsigned position, unsigned *axis)
{
    struct clickstop_private_position at;
    struct clickstop_private_jog jog = {0, 0, 0};
    const unsigned axes = CLICKSTOP_JOG_AXES;
    CLICKSTOP_PRIVATE_COPY(&at, &clickstop_private_positions[position], sizeof at);
    *axis = at.axis;
    if (at.axis < axes) {
        CLICKSTOP_PRIVATE_COPY(&jog, &clickstop_private_jogs[at.axis], sizeof jog);
    }
    return jog;
}

static inline struct clickstop_private_click clickstop_private_click_of(unsigned position, unsigned increment)
{
    struct clickstop_private_click click = {0, 0, 0, 0};
    unsigned axis;
    if (position < (unsigned)CLICKSTOP_POSITIONS && increment < (unsigned)CLICKSTOP_INCREMENTS &&
        clickstop_private_jog_of(position, &axis).lines > 0u) {
        CLICKSTOP_PRIVATE_COPY(&click, &clickstop_private_clicks[axis * (unsigned)CLICKSTOP_INCREMENTS + increment],
                               sizeof click);
    }
    return click;
}

/* How many clicks one line may be for; 0: the wheel moves nothing here. */
static inline int clickstop_jog_most(unsigned position, unsigned increment)
{
    const struct clickstop_private_click click = clickstop_private_click_of(position, increment);
    return click.step > 0u ? (int)click.most : 0;
}

/* How many lines are sent for one jog. */
static inline unsigned clickstop_jog_lines(unsigned position)
{
    unsigned axis;
    return clickstop_private_jog_of(position, &axis).lines;
}

/*
 * The longest that a jog of so many clicks may take, from rest to rest: at its rate, with starting and braking, or that
 * of as many single clicks, whichever is less.
 */
static inline uint32_t clickstop_jog_ms(unsigned position, unsigned increment, int clicks)
{
    unsigned axis;
    const uint32_t count = (uint32_t)(clicks < 0 ? -clicks : clicks);
    const struct clickstop_private_click click = clickstop_private_click_of(position, increment);
    const uint32_t through = clickstop_private_jog_of(position, &axis).extra_ms + count * click.microseconds / 1000u;
    const uint32_t singly = count > 0u && click.once / 1000u < through / count ? count * click.once / 1000u : through;
    return (singly < through ? singly : through) + 1u;
}

/* Writes so many units of the last decimal as a number without useless zeros; gives how many signs that took. */
static inline size_t clickstop_private_distance(int negative, uint32_t units, char *to)
{
    const size_t decimals = CLICKSTOP_JOG_DECIMALS;
    char digits[12];
    size_t count = 0, written = 0, zeros = 0;
    do {
        digits[count++] = (char)('0' + (int)(units % 10u));
        units /= 10u;
    } while (units > 0u || count <= decimals);
    while (zeros < decimals && digits[zeros] == '0') {
        zeros++;
    }
    if (negative) {
        to[written++] = '-';
    }
    while (count > zeros) {
        if (count == decimals) {
            to[written++] = '.';
        }
        to[written++] = digits[--count];
    }
    return written;
}

/* A line of a jog of so many clicks, counted from 0, with the distance written in; as the texts above. */
static inline size_t clickstop_jog_line(unsigned position, unsigned increment, unsigned line, int clicks, char *to,
                                        size_t room)
{
    const struct clickstop_private_click click = clickstop_private_click_of(position, increment);
    const uint32_t count = (uint32_t)(clicks < 0 ? -clicks : clicks);
    char number[14];
    size_t numbered, length = 0, i;
    unsigned axis;
    const char *from;
    char sign;
    from = clickstop_private_pointer(
        &clickstop_private_lines[clickstop_private_jog_of(position, &axis).first_line + line]);
    numbered = clickstop_private_distance(clicks < 0, count * click.step, number);
    while ((sign = CLICKSTOP_PRIVATE_CHAR(from)) != '\0') {
        from++;
        if (sign == '{') {
            for (i = 0; i < numbered; i++, length++) {
                if (length + 1u < room) {
                    to[length] = number[i];
                }
            }
            from += sizeof "step}" - 1u;
        } else {
            if (length + 1u < room) {
                to[length] = sign;
            }
            length++;
        }
    }
    if (room > 0u) {
        to[length < room ? length : room - 1u] = '\0';
    }
    return length;
}
