/* The index in clickstop_slots of the slot at a selector position and an increment, both counted from 0; -1: none. */
static inline int clickstop_find(unsigned position, unsigned increment)
{
    int i;
    for (i = 0; i < CLICKSTOP_SLOTS; i++) {
        if (clickstop_slots[i].position == position && clickstop_slots[i].increment == increment) {
            return i;
        }
    }
    return -1;
}

/* How many stages a slot has; each is started by a gesture of its own. */
static inline unsigned clickstop_stage_count(int slot)
{
    return clickstop_macros[clickstop_slots[slot].macro].stages;
}

/* The index in clickstop_stages of a stage of a slot, counted from 0. */
static inline unsigned clickstop_stage_of(int slot, unsigned stage)
{
    return clickstop_macros[clickstop_slots[slot].macro].first_stage + stage;
}
