package reliability

// Chance draws what nature varies independently from trial to trial and from
// dimension to dimension, as the figures of a Plan and of a Sequential test take it to
// be. Its value is the seed. As with a Sequence, what a trial is given hangs on the
// seed, the trial and the dimension alone, in whole numbers, on every machine.
type Chance uint64

// Bits is what trial i, 0 to MaxIndex, is given in a dimension, as a proportion
// of 2³². Numbers outside the ranges panic.
func (c Chance) Bits(i int, d Dimension) uint32 {
	checkDraw(i, d)
	return uint32(mix(c.key(d)+uint64(i)) >> 32)
}

// Value is what trial i is given in a dimension, from 0 to below 1.
func (c Chance) Value(i int, d Dimension) float64 { return float64(c.Bits(i, d)) / (1 << 32) }

// Between is what trial i is given in a dimension, from low to high, both among
// what may come. It panics when high is below low.
func (c Chance) Between(i int, d Dimension, low, high int64) int64 {
	return between(c.Bits(i, d), low, high)
}

// Seed is for what is drawn within trial i in a dimension by a generator of its
// own, such as a bounce pattern.
func (c Chance) Seed(i int, d Dimension) uint64 {
	checkDraw(i, d)
	return mix(mix(c.key(d) + uint64(i)))
}

func (c Chance) key(d Dimension) uint64 { return key(c, 2*Dimensions+uint64(d)) }
