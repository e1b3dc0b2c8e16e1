package main

import (
	"fmt"
	"os"
	"runtime"
	"runtime/debug"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"time"
)

// rounds is how often each contender has its turn. They take turns, so that a
// change of the machine's pace meets all of them; the median round counts.
const rounds = 7

// contender is one way to do a piece of work.
type contender struct {
	name string
	once func() error
}

// race returns the processor time that each contender needs for one piece of
// work, garbage collection included, in about the given time a contender.
func race(contenders []contender, each time.Duration) ([]time.Duration, error) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	defer debug.SetGCPercent(debug.SetGCPercent(400)) // as the service does
	results := make([][]time.Duration, len(contenders))
	for range rounds {
		for i, c := range contenders {
			took, err := turn(c, each/rounds)
			if err != nil {
				return nil, fmt.Errorf("%s: %w", c.name, err)
			}
			results[i] = append(results[i], took)
		}
	}
	medians := make([]time.Duration, len(contenders))
	for i, r := range results {
		slices.Sort(r)
		medians[i] = r[len(r)/2]
	}
	return medians, nil
}

// turn repeats the work for a while and returns the processor time of one.
func turn(c contender, while time.Duration) (time.Duration, error) {
	runtime.GC()
	begun := ownTime()
	n := 0
	for spent := time.Duration(0); spent < while; spent = ownTime() - begun {
		for range 8 {
			if err := c.once(); err != nil {
				return 0, err
			}
			n++
		}
	}
	return (ownTime() - begun) / time.Duration(n), nil
}

// ownTime is the processor time that this process has used.
func ownTime() time.Duration {
	var usage syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &usage); err != nil {
		return 0
	}
	return time.Duration(usage.Utime.Nano() + usage.Stime.Nano())
}

// clockTick is the unit of /proc/PID/stat, USER_HZ, which is 100 a second on
// every architecture that Go runs on under Linux (proc(5)).
const clockTick = 10 * time.Millisecond

// processTime is the processor time that another process has used.
func processTime(pid int) time.Duration {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
	if err != nil {
		return 0
	}
	// The command's name is in parentheses and may hold spaces.
	fields := strings.Fields(string(text[strings.LastIndexByte(string(text), ')')+1:]))
	const userTime, systemTime = 11, 12 // fields 14 and 15 of proc(5), after the name
	user, _ := strconv.ParseInt(fields[userTime], 10, 64)
	system, _ := strconv.ParseInt(fields[systemTime], 10, 64)
	return time.Duration(user+system) * clockTick
}

// status reads a figure in kB from /proc/PID/status, as MB.
func status(pid int, name string) float64 {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	if err != nil {
		return 0
	}
	for line := range strings.Lines(string(text)) {
		if value, found := strings.CutPrefix(line, name+":"); found {
			kilobytes, _ := strconv.ParseFloat(strings.Fields(value)[0], 64)
			return kilobytes / 1024
		}
	}
	return 0
}
