// Command ways goes every way that a Go function can take, and prints what came of it.
package main

import (
	"errors"
	"fmt"
	"os"
	"runtime"
	"sort"
	"strings"
)

// Loops without a call, one in the other, left and begun again from inside.
func loops(b []byte) (lines, words, longest int) {
	for i := 0; i < len(b); i++ {
		lines++
		was := words
	line:
		for ; i < len(b) && b[i] != '\n'; i++ {
			for b[i] == ' ' {
				if i++; i == len(b) {
					break line
				}
				if b[i] == '\n' {
					break line
				}
			}
			n := 0
			for i < len(b) && b[i] > ' ' {
				n++
				i++
			}
			if n > 0 {
				words++
			}
			if longest < n {
				longest = n
			}
			i--
		}
		if words == was {
			lines--
		}
	}
	return lines, words, longest
}

// A loop with two ways in.
func twoWays(n int) (s string) {
	i := 0
	if n%2 == 1 {
		goto odd
	}
even:
	s += "e"
	i++
odd:
	s += "o"
	if i++; i < n {
		goto even
	}
	return s
}

// Loops in which goroutines are put aside.
func talk(n int) (sum int) {
	ask, answer := make(chan int), make(chan int)
	go func() {
		for q := range ask {
			for i := range q % 3 {
				runtime.Gosched()
				q += i
			}
			answer <- q
		}
		close(answer)
	}()
	for i := range n {
		for range i % 2 {
			runtime.Gosched()
		}
		select {
		case ask <- i:
			sum += <-answer
		case <-answer:
			panic("nobody was asked")
		}
	}
	close(ask)
	_, isOpen := <-answer
	if isOpen {
		return -1
	}
	return sum
}

var errOdd = errors.New("odd")

// Panics that are recovered, with defers whose number is known and one whose is not.
func recovered(n int) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("recovered: %v", r)
		}
	}()
	if n == 3 {
		return errOdd
	}
	var list [4]int
	return fmt.Errorf("fine: %d", list[n])
}

func manyDefers(n int) (s string) {
	for i := range n {
		defer func() {
			if r := recover(); r != nil {
				s += fmt.Sprint("r", i, r)
				if i%2 == 0 {
					panic(fmt.Sprint("again", i))
				}
				return
			}
			s += fmt.Sprint(i)
		}()
	}
	if n > 2 {
		panic("first")
	}
	return ""
}

// A stack that must grow, in a loop.
func deep(n int) int {
	var room [64]int
	for i := range room {
		room[i] = n + i
	}
	if n == 0 {
		return 1
	}
	times, sum := 1, 0
	if n < 10 {
		times = 2
	}
	for i := range times {
		sum = (sum*3 + deep(n-1) + room[(n+i)%64]) % 1_000_003
	}
	return sum
}

type shape interface{ area() int }
type square int
type strip [2]int

func (s square) area() int { return int(s * s) }
func (s strip) area() int  { return s[0] * s[1] }

// Calls that are found at run time, and switches of all kinds.
func kinds(list []any) (n int) {
	double := func(k int) int { return 2 * k }
	for _, v := range list {
		switch v := v.(type) {
		case nil:
			n++
		case shape:
			n += v.area()
		case string:
			switch v {
			case "one", "two", "three":
				n += len(v)
			case "four":
				fallthrough
			default:
				n -= len(v)
			}
		case int:
			n += double(v)
		}
	}
	return n
}

func until(n int) func(func(int) bool) {
	return func(yield func(int) bool) {
		for i := 0; i < n && yield(i); i++ {
		}
	}
}

func rangeOver(n int) (sum int) {
	for i := range until(n) {
		for j := range until(i) {
			if j == 7 {
				break
			}
			if i == 11 {
				return sum
			}
			sum += i * j
		}
	}
	return sum
}

// Garbage that is collected meanwhile.
func garbage(n int) (sum int) {
	m := map[string][]int{}
	for i := range n {
		k := fmt.Sprint(i % 97)
		m[k] = append(m[k], i)
		if i%5000 == 0 {
			runtime.GC()
		}
	}
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	for i, k := range keys {
		sum += i * m[k][len(m[k])/2]
	}
	return sum
}

func main() {
	fmt.Println(loops([]byte("a bb  ccc\n\n  dddd e \n" + strings.Repeat("word ", 1000))))
	fmt.Println(twoWays(0), twoWays(1), twoWays(4), twoWays(5))
	fmt.Println(talk(1000))
	for n := range 6 {
		fmt.Println(recovered(n))
	}
	fmt.Println(manyDefers(2), manyDefers(5))
	fmt.Println(deep(12), deep(5000))
	done := make(chan int)
	go func() { done <- deep(13) }()
	fmt.Println(<-done)
	fmt.Println(kinds([]any{nil, square(3), strip{4, 5}, "one", "four", "five", 6, 7.5}))
	fmt.Println(rangeOver(30), garbage(20_000))
	if len(os.Args) > 1 {
		var nobody *int
		*nobody = 1
	}
}
