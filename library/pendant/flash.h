/* How this chip reads its constants: where they stay in flash and data memory is elsewhere, by avr-libc's own means. */
#if defined(__AVR__)
#include <avr/pgmspace.h>
#define CLICKSTOP_PRIVATE_FLASH PROGMEM
#define CLICKSTOP_PRIVATE_COPY(to, from, bytes) memcpy_P((to), (from), (bytes))
#define CLICKSTOP_PRIVATE_CHAR(from) ((char)pgm_read_byte(from))
#else
#define CLICKSTOP_PRIVATE_FLASH
#define CLICKSTOP_PRIVATE_COPY(to, from, bytes) memcpy((to), (from), (bytes))
#define CLICKSTOP_PRIVATE_CHAR(from) (*(from))
#endif

struct clickstop_private_position {
    uint8_t kind, axis;
};
struct clickstop_private_stage {
    uint16_t first_line, lines;
    uint32_t patience_ms, motion_ms;
};
struct clickstop_private_macro {
    uint16_t first_stage, stages;
};
struct clickstop_private_slot {
    uint8_t position, increment; /* counted from 0 */
    uint16_t macro;
};
struct clickstop_private_jog {
    uint16_t first_line, lines;
    uint16_t extra_ms; /* what starting and braking add to the time of a line */
};
struct clickstop_private_click {
    uint32_t step, microseconds; /* step: units of the last decimal */
    uint32_t once; /* microseconds of a single click from rest to rest */
    uint16_t most;
};
