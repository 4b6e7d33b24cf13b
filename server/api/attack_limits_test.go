package api_test

import (
	"bufio"
	"context"
	"fmt"
	"net"
	"strings"
	"sync"
	"testing"
	"time"

	"hoppertally/domain/kind"
	"hoppertally/server/api"
	"hoppertally/server/books"
)

func TestARunawayPhoneIsSlowedAndOthersAreNot(t *testing.T) {
	p := start(t, options{})
	ana, bea := p.signIn("p-ana", "dev-ana"), p.signIn("p-bea", "dev-bea")
	slowed := 0
	begun := time.Now()
	for range api.RateBurst + 400 {
		p.ahead.Store(-time.Since(begun).Milliseconds()) // the server's clock stands still, however slow this machine is
		if a := ana.do("GET", "/api/v1/me", nil); a.status == 429 {
			a.refused("request.rate")
			if a.head.Get("Retry-After") == "" {
				t.Fatal("no Retry-After")
			}
			slowed++
		}
	}
	if slowed == 0 {
		t.Error("nothing slows a phone that runs in circles")
	}
	bea.do("GET", "/api/v1/me", nil).want(200)
	p.ahead.Add(5000)
	ana.do("GET", "/api/v1/me", nil).want(200)
}

// hire puts one more coater into the books and signs them in.
func (p *place) hire(person string) *phone {
	p.t.Helper()
	if err := p.house.Desk.Record(context.Background(), "p-mia", books.Draft{Kind: "person.set", Body: &kind.PersonSet{Person: person, Name: person, Role: "coater"}}); err != nil {
		p.t.Fatal(err)
	}
	return p.signIn(person, "dev-"+person)
}

// hammer asks until it is slowed. From then on the server's clock stands still, however slow
// this machine is: nothing is refilled.
func (ph *phone) hammer(path string) {
	ph.t.Helper()
	ph.still.Store(time.Now().UnixMilli())
	for range api.RateBurst + 400 {
		if ph.do("GET", path, nil).status == 429 {
			return
		}
	}
	ph.t.Fatalf("nothing slows %s", path)
}

func TestAttackWhoRunsInCirclesOnTwoPhonesIsOnePerson(t *testing.T) {
	p := start(t, options{})
	ana, too, bea := p.signIn("p-ana", "dev-1"), p.signIn("p-ana", "dev-2"), p.signIn("p-bea", "dev-3")
	ana.hammer("/api/v1/me")
	too.do("GET", "/api/v1/me", nil).refused("request.rate")
	too.do("GET", "/api/v1/hello", nil).refused("request.rate") // an open address does not help them
	bea.do("GET", "/api/v1/me", nil).want(200)
	bea.do("GET", "/api/v1/hello", nil).want(200)
	p.newPhone("d").do("GET", "/api/v1/hello", nil).want(200)
}

// Behind a router a shop and whoever else is in its network are one address.
func TestAttackAHammeredAddressShutsOutNobodyWhoIsSignedIn(t *testing.T) {
	p := start(t, options{})
	ana, bea := p.signIn("p-ana", "dev-ana"), p.signIn("p-bea", "dev-bea")
	cookie := bea.cookies()[0]
	p.ahead.Add((auth15 + time.Minute).Milliseconds()) // everybody's access token is over
	ana.take(ana.do("POST", "/api/v1/session/refresh", nil).want(200))
	stranger := p.newPhone("d")
	stranger.hammer("/api/v1/hello")
	stranger.do("POST", "/api/v1/session/refresh", nil).refused("request.rate")
	stranger.do("GET", "/api/v1/live", nil, "Authorization", "Bearer x.y.z").refused("request.rate")
	fake := *cookie
	fake.Value = strings.Split(cookie.Value, ".")[0] + "." + strings.Repeat("A", 43)
	bea.refreshWith(&fake).refused("request.rate") // a made-up token of her session makes nobody her

	ana.do("GET", "/api/v1/hello", nil).want(200)
	ana.do("GET", "/api/v1/setup", nil).want(200)
	if r := ana.push(ana.entry("powder.moved", moved)); r[0].Outcome != "accepted" {
		t.Errorf("%+v", r[0])
	}
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	next(t, ana.listen(ctx), 5*time.Second)
	bea.take(bea.do("POST", "/api/v1/session/refresh", nil).want(200))
	bea.do("DELETE", "/api/v1/session", nil).want(204)
	p.ahead.Add(5000) // a session that is over counts by its address, which has room again
	bea.do("GET", "/api/v1/hello", nil).refused("auth.ended")
}

// held opens streams of news with one token and keeps them; it gives those that had news.
func (ph *phone) held(n int) (open []net.Conn) {
	ph.t.Helper()
	open = make([]net.Conn, n)
	var wg sync.WaitGroup
	slots := make(chan struct{}, 20)
	for i := range open {
		slots <- struct{}{}
		wg.Go(func() {
			defer func() { <-slots }()
			c, err := net.Dial("tcp", strings.TrimPrefix(ph.base, "http://"))
			if err != nil {
				ph.t.Error(err)
				return
			}
			fmt.Fprintf(c, "GET /api/v1/live HTTP/1.1\r\nHost: localhost\r\nAuthorization: Bearer %s\r\n\r\n", ph.access)
			c.SetReadDeadline(time.Now().Add(time.Minute))
			bufio.NewReader(c).ReadString('\n')
			open[i] = c
		})
	}
	wg.Wait()
	ph.t.Cleanup(func() {
		for _, c := range open {
			c.Close()
		}
	})
	return open
}

func TestAttackOnePersonCannotTakeAllThePlacesOfThoseWhoListen(t *testing.T) {
	p := start(t, options{beat: time.Hour})
	ana, bea := p.signIn("p-ana", "dev-ana"), p.signIn("p-bea", "dev-bea")
	ana.held(api.StreamsMax)
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	next(t, bea.listen(ctx), 5*time.Second)
	next(t, p.newPhone("x").listen(ctx), 5*time.Second)
	for end := time.Now().Add(20 * time.Second); streams() > api.OwnMax+2; time.Sleep(50 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("%d streams run, of which one person may have %d", streams(), api.OwnMax)
		}
	}
	// whoever has all of theirs still hears the news on the phone that came last
	lines := ana.listen(ctx)
	next(t, lines, 5*time.Second)
	bea.push(bea.entry("powder.moved", moved))
	next(t, lines, 5*time.Second)
}
