package linear

import "math"

// Dim is the most variables that a set of equations can have.
const Dim = 5

// A Matrix holds the coefficients of dx/dt = a·x, per second. A set of fewer
// equations leaves the last rows and columns zero.
type Matrix [Dim][Dim]float64

// used is how many variables have an equation or are in one.
func (a *Matrix) used() int {
	for n := Dim; n > 0; n-- {
		for k := range Dim {
			if a[n-1][k] != 0 || a[k][n-1] != 0 {
				return n
			}
		}
	}
	return 0
}

// Unit is the matrix that changes nothing.
func Unit() (u Matrix) {
	for i := range u {
		u[i][i] = 1
	}
	return u
}

// Times is the product a·b.
func (a *Matrix) Times(b *Matrix) Matrix { return times(a, b, Dim) }

// times is the product of the first n rows and columns. What is left is zero.
func times(a, b *Matrix, n int) (c Matrix) {
	n = min(n, Dim)
	for i := range n {
		row, into := &a[i], &c[i]
		for k := range n {
			x, from := row[k], &b[k]
			for j := range n {
				into[j] += float64(x * from[j])
			}
		}
	}
	return c
}

// norm is the largest row sum of magnitudes.
func (a *Matrix) norm() (n float64) {
	for _, row := range a {
		sum := 0.0
		for _, x := range row {
			sum += math.Abs(x)
		}
		n = max(n, sum)
	}
	return n
}

// Exponential is e^(a t), t in seconds, by scaling, a Taylor series and squaring
// (Moler and Van Loan, SIAM Review 45, 2003, method 3). The series is cut where its
// next term is below 1e-20.
func Exponential(a Matrix, t float64) Matrix {
	n := a.used()
	squarings := 0
	for size := a.norm() * t; size > 0.25; size /= 2 {
		t /= 2
		squarings++
	}
	for i := range n {
		for j := range n {
			a[i][j] *= t
		}
	}
	sum := Unit()
	term := sum
	for k := 1; k <= 14; k++ {
		term = times(&term, &a, n)
		for i := range n {
			for j := range n {
				term[i][j] /= float64(k)
				sum[i][j] += term[i][j]
			}
		}
	}
	for ; squarings > 0; squarings-- {
		sum = times(&sum, &sum, n)
	}
	for i := n; i < Dim; i++ {
		sum[i][i] = 1
	}
	return sum
}

// Sign is 1, -1 or 0.
func Sign(x float64) float64 {
	switch {
	case x > 0:
		return 1
	case x < 0:
		return -1
	}
	return 0
}
