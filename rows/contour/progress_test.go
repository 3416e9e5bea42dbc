package contour

import (
	"context"
	"errors"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestProgressTellsTenths(t *testing.T) {
	var told []string
	p := &progress{step: func(s string) { told = append(told, s) }, prefix: "a: "}
	p.begin("b", 3)
	for range 3 {
		p.tick()
	}
	p.begin("c", 25)
	for range 5 {
		p.tick()
	}
	assert.Equal(t, []string{"a: b", "a: b, 30 %", "a: b, 60 %", "a: c", "a: c, 10 %", "a: c, 20 %"}, told)
	for _, p := range []*progress{nil, {}} {
		p.begin("b", 3)
		p.tick()
	}
}

// After an error nothing new is begun, and the first by number is returned.
func TestParallelStops(t *testing.T) {
	var begun atomic.Int64
	bad := errors.New("bad")
	err := parallel(context.Background(), 1000, func(i int) error {
		begun.Add(1)
		if i == 3 {
			return bad
		}
		return nil
	})
	require.ErrorIs(t, err, bad)
	assert.Less(t, begun.Load(), int64(1000))

	ctx, cancel := context.WithCancel(context.Background())
	begun.Store(0)
	err = parallel(ctx, 1000, func(i int) error {
		if begun.Add(1) == 5 {
			cancel()
		}
		return nil
	})
	require.ErrorIs(t, err, context.Canceled)
	assert.Less(t, begun.Load(), int64(1000))
	require.NoError(t, parallel(context.Background(), 0, nil))
}
