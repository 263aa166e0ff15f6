package fleet

import (
	"strings"
	"sync"
	"time"

	"golang.org/x/time/rate"
)

// How often sign-in may be tried. Common practice, no source.
const (
	accountBurst = 5
	accountEvery = 30 * time.Second
	addressBurst = 20
	addressEvery = 5 * time.Second
	mostLimiters = 10_000 // of each kind
)

// A limiter allows each name a burst and then one try in a while. It keeps a
// bounded number of names, so that nobody can fill the memory with invented ones.
type limiter struct {
	mu    sync.Mutex
	names map[string]*rate.Limiter
	every rate.Limit
	burst int
	most  int
}

func newLimiter(every time.Duration, burst, most int) *limiter {
	return &limiter{names: map[string]*rate.Limiter{}, every: rate.Every(every), burst: burst, most: most}
}

// try takes one try of a name, or tells how long to wait for the next.
func (l *limiter) try(name string, now time.Time) (wait time.Duration, ok bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	one := l.names[name]
	if one == nil {
		if len(l.names) >= l.most {
			l.room(now)
		}
		one = rate.NewLimiter(l.every, l.burst)
		l.names[name] = one
	}
	r := one.ReserveN(now, 1)
	if wait := r.DelayFrom(now); wait > 0 {
		r.CancelAt(now)
		return wait, false
	}
	return 0, true
}

// room forgets those that have their whole burst again, of which nothing is lost;
// failing that, the one that is nearest to it, which tried least.
func (l *limiter) room(now time.Time) {
	nearest, most := "", -1e9
	for name, one := range l.names {
		tokens := one.TokensAt(now)
		if tokens >= float64(l.burst) {
			delete(l.names, name)
			continue
		}
		if tokens > most {
			nearest, most = name, tokens
		}
	}
	if len(l.names) >= l.most {
		delete(l.names, nearest)
	}
}

// forget gives a name its whole burst back: it proved itself.
func (l *limiter) forget(name string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	delete(l.names, name)
}

func folded(login string) string { return strings.ToLower(strings.TrimSpace(login)) }
