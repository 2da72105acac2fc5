/*
 * The 8-bit build of a pendant in a simulator, its pins and its serial port: simulated FILE.elf, told on standard input:
 *
 *   pin D 2 LEVEL     puts a level on a pin          wait MS         lets time pass
 *   wheel CLICKS      turns the wheel (pins C 0 and C 1), 4 edges a click, 20 ms apart, with bounces
 *   answer TEXT       what the controller answers to each line from now on; without text: nothing
 *   at N TEXT         but to line N, counted from the first, this
 *
 * Prints each line that comes out of the serial port, and "lamp MS LEVEL" where its pin (B 5) changes.
 */
#include <simavr/avr_ioport.h>
#include <simavr/avr_uart.h>
#include <simavr/sim_avr.h>
#include <simavr/sim_elf.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define ANSWER_MS 3u
#define MOST 4096

static avr_t *avr;
static char line[MOST], answer[MOST], other[MOST], waiting[MOST];
static size_t count, told;
static unsigned lines, other_at;
static avr_cycle_count_t due;
static int edges, level_now = -1;

static avr_cycle_count_t in_ms(double ms)
{
    return (avr_cycle_count_t)(ms * (double)avr->frequency / 1000.0);
}

static void byte_out(struct avr_irq_t *irq, uint32_t value, void *param)
{
    (void)irq;
    (void)param;
    if (value == '\n' || value == 0x18) {
        line[count] = '\0';
        if (value == 0x18) {
            puts("<18>");
        } else {
            puts(line);
            lines++;
            strcpy(waiting, lines == other_at ? other : answer);
            if (waiting[0] != '\0') {
                strcat(waiting, "\n");
                told = 0;
                due = avr->cycle + in_ms(ANSWER_MS);
            }
        }
        count = 0;
    } else if (count + 1 < MOST) {
        line[count++] = (char)value;
    }
}

static void lamp(struct avr_irq_t *irq, uint32_t value, void *param)
{
    (void)irq;
    (void)param;
    if ((int)value != level_now) {
        level_now = (int)value;
        printf("lamp %lu %d\n", (unsigned long)(avr->cycle * 1000u / avr->frequency), level_now);
    }
}

static void run(double ms)
{
    const avr_cycle_count_t end = avr->cycle + in_ms(ms);
    while (avr->cycle < end) {
        const int state = avr_run(avr);
        if (state == cpu_Done || state == cpu_Crashed) {
            fputs("the program ended\n", stderr);
            exit(1);
        }
        if (waiting[0] != '\0' && avr->cycle >= due) {
            avr_raise_irq(avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_INPUT), (uint8_t)waiting[told++]);
            due = avr->cycle + in_ms(10.0 / 115.2); /* a byte of 10 bits */
            if (waiting[told] == '\0') {
                waiting[0] = '\0';
            }
        }
    }
}

static void pin(char port, int bit, unsigned level)
{
    static avr_ioport_external_t outside['E']; /* or the simulator takes the pull-up for the level */
    avr_ioport_external_t *at = &outside[(unsigned char)port];
    at->name = (unsigned long)port;
    at->mask |= 1u << bit;
    at->value = (at->value & ~(1u << bit)) | level << bit;
    avr_ioctl(avr, AVR_IOCTL_IOPORT_SET_EXTERNAL(port), at);
    avr_raise_irq(avr_io_getirq(avr, AVR_IOCTL_IOPORT_GETIRQ(port), bit), level);
}

static void turn(int clicks)
{
    static const unsigned a[] = {1, 0, 0, 1}, b[] = {1, 1, 0, 0};
    int each, edge;
    for (each = 0; each < abs(clicks); each++) {
        for (edge = 0; edge < 4; edge++) {
            const int before = edges & 3, after = (edges += clicks > 0 ? 1 : -1) & 3;
            pin('C', 0, a[after]);
            pin('C', 1, b[after]);
            run(1.2);
            pin('C', 0, a[before]);
            pin('C', 1, b[before]);
            run(1.3);
            pin('C', 0, a[after]);
            pin('C', 1, b[after]);
            run(2.5);
        }
        run(20.0);
    }
}

int main(int argc, char **argv)
{
    elf_firmware_t firmware;
    char said[MOST], word[16], port;
    int bit, number;
    uint32_t flags = 0;
    if (argc != 2) {
        return 2;
    }
    memset(&firmware, 0, sizeof firmware);
    if (elf_read_firmware(argv[1], &firmware) != 0) {
        return 2;
    }
    strcpy(firmware.mmcu, "atmega328p");
    firmware.frequency = 16000000u;
    avr = avr_make_mcu_by_name(firmware.mmcu);
    if (avr == NULL || avr_init(avr) != 0) {
        return 2;
    }
    avr->log = LOG_NONE;
    avr_load_firmware(avr, &firmware);
    avr_ioctl(avr, AVR_IOCTL_UART_SET_FLAGS('0'), &flags);
    avr_irq_register_notify(avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUTPUT), byte_out, NULL);
    avr_irq_register_notify(avr_io_getirq(avr, AVR_IOCTL_IOPORT_GETIRQ('B'), 5), lamp, NULL);
    while (fgets(said, sizeof said, stdin) != NULL) {
        said[strcspn(said, "\n")] = '\0';
        if (sscanf(said, "pin %c %d %d", &port, &bit, &number) == 3) {
            pin(port, bit, (unsigned)number);
        } else if (sscanf(said, "wait %d", &number) == 1) {
            run(number);
        } else if (sscanf(said, "wheel %d", &number) == 1) {
            turn(number);
        } else if (sscanf(said, "%15s", word) == 1 && strcmp(word, "answer") == 0) {
            strcpy(answer, strlen(said) > 7 ? said + 7 : "");
        } else if (sscanf(said, "at %d", &number) == 1) {
            other_at = (unsigned)number;
            strcpy(other, strchr(said + 3, ' ') + 1);
        } else {
            fprintf(stderr, "not understood: %s\n", said);
            return 2;
        }
    }
    return 0;
}
