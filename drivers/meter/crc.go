package meter

// crc16 is the check sum of Modbus over Serial Line V1.02, 6.2.2: polynomial
// 0xA001 (reflected), start 0xFFFF. Its low byte is sent first.
func crc16(b []byte) uint16 {
	crc := uint16(0xFFFF)
	for _, c := range b {
		crc = crc>>8 ^ crcTable[byte(crc)^c]
	}
	return crc
}

var crcTable = func() (t [256]uint16) {
	for i := range t {
		crc := uint16(i)
		for range 8 {
			odd := crc & 1
			crc >>= 1
			if odd == 1 {
				crc ^= 0xA001
			}
		}
		t[i] = crc
	}
	return t
}()

// appendCRC closes a frame.
func appendCRC(frame []byte) []byte {
	crc := crc16(frame)
	return append(frame, byte(crc), byte(crc>>8))
}

// goodCRC says whether a frame's last two bytes fit the rest.
func goodCRC(frame []byte) bool {
	n := len(frame) - 2
	return n > 0 && crc16(frame[:n]) == uint16(frame[n])|uint16(frame[n+1])<<8
}
