package materials

import (
	"context"
	"fmt"
	"testing"
)

func BenchmarkCompute(b *testing.B) {
	for _, n := range []int{10, 100, 1000} {
		lengths := make([]float64, n)
		for i := range lengths {
			lengths[i] = 60 + float64(i%90)
		}
		l := planted(planted(layoutOf(lengths...), "hazel", 5), "currant", 1.5)
		s := DefaultSpec(TwoSheet)
		b.Run(fmt.Sprintf("n=%d", n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, _, err := Compute(context.Background(), l, s); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
