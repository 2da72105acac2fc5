/* Reads every table of slots.h at places that the compiler cannot know, so that none is left out. */
#include "pendant.h"

volatile unsigned place;
volatile char found;

int main(void)
{
    char text[40];
    found = (char)(found + (char)clickstop_kind_at(place, place) + (char)clickstop_find(place, place));
    found = (char)(found + (char)clickstop_stage_of((int)place, place).lines + (char)clickstop_turn_of(place));
    clickstop_line(place, text, sizeof text);
    found = (char)(found + text[place]);
    clickstop_issue(text, sizeof text);
    found = (char)(found + text[place]);
    clickstop_position_label(place, text, sizeof text);
    found = (char)(found + text[place]);
    clickstop_increment_label(place, text, sizeof text);
    found = (char)(found + text[place]);
    clickstop_macro_name((int)place, text, sizeof text);
    found = (char)(found + text[place]);
    clickstop_jog_line(place, place, place, (int)place, text, sizeof text);
    found = (char)(found + text[place] + (char)clickstop_jog_ms(place, place, 1));
    found = (char)(found + clickstop_is_error(text, place) + clickstop_is_answer(text, place));
    return found;
}
