package reliability_test

import (
	"fmt"

	. "pintle/rig/reliability"
)

// A reliability of 95 % at a confidence of 95 %, with a fixed number of trials and
// with one that ends when it is decided.
func Example() {
	plan, err := ParsePlan("95/95")
	if err != nil {
		fmt.Println(err)
		return
	}
	n, err := plan.Trials()
	fmt.Println(n, "trials without failure", err)
	test, err := plan.Sequential(Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	course, err := test.Start()
	if err != nil {
		fmt.Println(err)
		return
	}
	for trial := 1; course.State() == Continue; trial++ {
		course.Observe(trial != 20) // the twentieth fails
	}
	fmt.Println(course.State(), "after", course.Trials(), "trials,", course.Failures(), "failed")
	// Output:
	// 59 trials without failure <nil>
	// accept after 115 trials, 1 failed
}
