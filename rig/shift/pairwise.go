package shift

import "math"

// differences are all b-a of two sorted samples. They are never written out: those
// that are at most some value are counted in one walk along both samples, and the
// k-th is found by halving the values that it can be, at most 64 times.
type differences[T Quantity] struct{ a, b []T }

func (d differences[T]) len() int64 { return int64(len(d.a)) * int64(len(d.b)) }

// upTo counts those of at most v.
func (d differences[T]) upTo(v T) int64 {
	count, j := int64(0), 0
	for _, a := range d.a {
		for j < len(d.b) && d.b[j]-a <= v {
			j++
		}
		count += int64(j)
	}
	return count
}

// nth is the k-th smallest, k from 1 to len.
func (d differences[T]) nth(k int64) T {
	low, high := key(d.b[0]-d.a[len(d.a)-1]), key(d.b[len(d.b)-1]-d.a[0])
	for low < high {
		mid := low + (high-low)/2
		if d.upTo(unkey[T](mid)) >= k {
			high = mid
		} else {
			low = mid + 1
		}
	}
	return unkey[T](low) + 0 // no negative zero
}

// median of whole numbers that lies between two is rounded to the even one.
func (d differences[T]) median() T {
	n := d.len()
	low := d.nth((n + 1) / 2)
	if n%2 == 1 {
		return low
	}
	high := d.nth(n/2 + 1)
	if !whole[T]() {
		return (low + high) / 2
	}
	sum := int64(low) + int64(high)
	half := sum >> 1
	if sum&1 == 1 && half&1 == 1 {
		half++
	}
	return T(half)
}

const sign = 1 << 63

// key numbers all values of a type in their order.
func key[T Quantity](v T) uint64 {
	if whole[T]() {
		return uint64(int64(v)) ^ sign
	}
	bits := math.Float64bits(float64(v))
	if bits&sign != 0 {
		return ^bits
	}
	return bits | sign
}

func unkey[T Quantity](k uint64) T {
	if whole[T]() {
		return T(int64(k ^ sign))
	}
	if k&sign == 0 {
		return T(math.Float64frombits(^k))
	}
	return T(math.Float64frombits(k &^ sign))
}
