package stats

import (
	"fmt"
	"math"
)

// Chart holds centre line and control limits. A point is outside when it lies
// strictly beyond a limit.
type Chart struct {
	Centre, Upper, Lower float64
}

// MovingRangeD2 is the mean range of two standard normal values, 2/sqrt(pi).
const MovingRangeD2 = 1.128

// MovingRange returns the mean absolute step between neighbours and the
// standard deviation it stands for (divided by MovingRangeD2). It needs two
// values or more.
func MovingRange(x []float64) (mean, sigma float64, err error) {
	if len(x) < 2 {
		return 0, 0, fmt.Errorf("%w: %d values", ErrInput, len(x))
	}
	for i := 1; i < len(x); i++ {
		mean += math.Abs(x[i] - x[i-1])
	}
	mean /= float64(len(x) - 1)
	return mean, mean / MovingRangeD2, nil
}
