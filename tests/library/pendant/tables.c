/* A program that looks a slot up, and has the rest of the header beside it. */
#include "clickstop_slots.h"

int main(void)
{
    return clickstop_find(0, 0) == -1 ? 0 : 1;
}
