package terrain

import (
	"github.com/paulmach/orb"

	"hemrow/geo"
)

// Surface is terrain in a frame.
type Surface = geo.Surface

// sampler answers height and gradient at once.
type sampler interface {
	sample(x, y float64) (z, gx, gy float64, ok bool)
}

// samplerOf is s itself if it can, or asks both questions.
func samplerOf(s Surface) sampler {
	if f, ok := s.(sampler); ok {
		return f
	}
	return twoStep{s}
}

type twoStep struct{ Surface }

func (s twoStep) sample(x, y float64) (z, gx, gy float64, ok bool) {
	p := orb.Point{x, y}
	if z, ok = s.Height(p); !ok {
		return 0, 0, 0, false
	}
	gx, gy, ok = s.Gradient(p)
	return z, gx, gy, ok
}
