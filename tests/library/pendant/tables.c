/* The whole program, with nothing in it that is not used. */
#include "pendant.h"

int main(void)
{
    return 0;
}
