/* A Modbus RTU server on libmodbus, to test the meter's driver against a program
 * that knows nothing of it. Usage: server PORT BAUD UNIT
 * Registers, holding and input alike: 0: 1234; 1: -250; 2-3: 100000, high half
 * first; 4-5: the float 7.25, high half first; 6-7: the same, low half first. */
#include <errno.h>
#include <modbus/modbus.h>
#include <stdio.h>
#include <stdlib.h>

int main(int argc, char **argv) {
    if (argc != 4) return 64;
    modbus_t *ctx = modbus_new_rtu(argv[1], atoi(argv[2]), 'E', 8, 1);
    modbus_mapping_t *map = modbus_mapping_new(0, 0, 8, 8);
    if (ctx == NULL || map == NULL) return 1;
    uint16_t *tables[] = {map->tab_registers, map->tab_input_registers};
    for (int i = 0; i < 2; i++) {
        tables[i][0] = 1234;
        tables[i][1] = (uint16_t)-250;
        tables[i][2] = 100000 >> 16;
        tables[i][3] = 100000 & 0xFFFF;
        tables[i][4] = tables[i][7] = 0x40E8; /* 7.25 is 40E80000 in IEEE 754; the library's */
        tables[i][5] = tables[i][6] = 0x0000; /* own way to set one swaps bytes in 3.1.6 */
    }
    modbus_set_slave(ctx, atoi(argv[3]));
    if (modbus_connect(ctx) == -1) {
        fprintf(stderr, "connect: %s\n", modbus_strerror(errno));
        return 1;
    }
    puts("ready");
    fflush(stdout);
    uint8_t query[MODBUS_RTU_MAX_ADU_LENGTH];
    for (;;) {
        int n = modbus_receive(ctx, query);
        if (n > 0) modbus_reply(ctx, query, n, map);
        else if (n == -1 && errno != EMBBADCRC) return 0; /* the line is gone */
    }
}
