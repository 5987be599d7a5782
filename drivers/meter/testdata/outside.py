# A Modbus RTU server made of pymodbus and pyserial, so that the driver is tried
# against somebody else's reading of the standard.
#
#   outside.py PORT        serve on a port, until it ends
#   outside.py crc         for each line of hex on standard input, its check sum as sent
#   outside.py micro       for each number on standard input, a million times that, rounded half away from zero
#   outside.py text PORT   write text lines to a port, until it ends
import decimal
import struct
import sys
import time


def registers(kind, value):
    raw = struct.pack(">" + kind, value)
    return list(struct.unpack(">%dH" % (len(raw) // 2), raw))


def context():
    from pymodbus.datastore import ModbusSequentialDataBlock, ModbusSlaveContext, ModbusServerContext
    def block(at):
        values = [0] * 100
        for address, words in at.items():
            values[address:address + len(words)] = words
        return ModbusSequentialDataBlock(0, values)
    inputs = block({
        0: registers("h", -12345), 1: registers("H", 65000), 2: registers("h", 32767),
        10: registers("i", -7251000), 12: registers("I", 4000000000), 14: registers("i", 7251000)[::-1],
        20: registers("f", 7.25), 22: registers("f", -0.08)[::-1], 24: registers("f", float("nan")), 26: registers("f", float("inf")),
    })
    slave = ModbusSlaveContext(ir=inputs, hr=block({7: registers("h", 4321)}), zero_mode=True)
    return ModbusServerContext(slaves={17: slave}, single=False)


def serve(port):
    import serial
    from pymodbus.factory import ServerDecoder
    from pymodbus.framer.rtu_framer import ModbusRtuFramer
    line = serial.Serial(port, baudrate=19200, parity="E", timeout=0.05)
    framer, slaves = ModbusRtuFramer(ServerDecoder()), context()

    def answer(request):
        response = request.execute(slaves[request.unit_id])
        response.unit_id, response.transaction_id = request.unit_id, request.transaction_id
        line.write(framer.buildPacket(response))

    print("ready", flush=True)
    while True:
        data = line.read(max(1, line.in_waiting))
        if data:
            framer.processIncomingPacket(data, answer, unit=[17])


def crc():
    from pymodbus.utilities import computeCRC
    for line in sys.stdin:
        print("%04X" % computeCRC(bytes.fromhex(line)))


def micro():
    decimal.getcontext().prec = 100
    for line in sys.stdin:
        v = decimal.Decimal(line.strip()).scaleb(6)
        print(int(v.to_integral_value(rounding=decimal.ROUND_HALF_UP)))


def text(port):
    import serial
    line = serial.Serial(port, baudrate=115200)
    print("ready", flush=True)
    for i in range(10**6):
        line.write(b"%+.3f A\r\n" % ((i % 2000) / 100 - 10))
        time.sleep(0.01)


if sys.argv[1] == "crc":
    crc()
elif sys.argv[1] == "micro":
    micro()
elif sys.argv[1] == "text":
    text(sys.argv[2])
else:
    serve(sys.argv[1])
