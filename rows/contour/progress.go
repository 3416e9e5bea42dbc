package contour

import (
	"context"
	"fmt"
	"runtime"
	"sync"
	"sync/atomic"
)

// progress tells which step is being done, and how much of it by tenths. The
// zero value and nil tell nobody.
type progress struct {
	step   func(name string)
	prefix string // before the names of steps

	mu       sync.Mutex
	name     string
	done, of int
}

// begin begins a step of so many parts.
func (p *progress) begin(name string, of int) {
	if p == nil || p.step == nil {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.name, p.done, p.of = p.prefix+name, 0, of
	p.step(p.name)
}

// tick is called when a part is done, on any goroutine. What is told depends on
// how many are, not on which.
func (p *progress) tick() {
	if p == nil || p.step == nil {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.done++
	if now := 10 * p.done / p.of; now > 10*(p.done-1)/p.of && now < 10 {
		p.step(fmt.Sprintf("%s, %d %%", p.name, 10*now))
	}
}

// parallel calls f for 0 to n-1 on all processors and returns the first error
// by number. After an error, or when the context ends, nothing new is begun.
func parallel(ctx context.Context, n int, f func(i int) error) error {
	errs := make([]error, n)
	next := make(chan int, n)
	for i := range n {
		next <- i
	}
	close(next)
	var failed atomic.Bool
	var wg sync.WaitGroup
	for range min(n, runtime.GOMAXPROCS(0)) {
		wg.Go(func() {
			for i := range next {
				if failed.Load() || ctx.Err() != nil {
					return
				}
				if errs[i] = f(i); errs[i] != nil {
					failed.Store(true)
				}
			}
		})
	}
	wg.Wait()
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return ctx.Err()
}
