//go:build race

package fleet

// racing tells that the race detector is on: everything takes many times as long,
// and tests that prove something by trying often try less often.
const racing = true
