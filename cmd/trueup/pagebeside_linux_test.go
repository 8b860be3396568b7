package main

import (
	"net/http"
	"os"
	"testing"
	"time"
)

// A run of the terminal with --page is on the page while it works, and takes the page with it when it is stopped.
func TestARunOfTheTerminalIsOnThePageToo(t *testing.T) {
	address := freeAddress(t)
	p := startProcesses(t, "sh", "-c", "TRUEUP_PAGE_ADDRESS="+address+` exec "$@" --page`, "sh")
	p.waitLine("page: http://" + address)
	client := http.Client{Timeout: 5 * time.Second}
	answer, err := client.Get("http://" + address + "/")
	if err != nil {
		t.Fatal(err)
	}
	answer.Body.Close()
	if answer.StatusCode != http.StatusOK {
		t.Errorf("the page answers %s", answer.Status)
	}
	if err := p.match.Process.Signal(os.Interrupt); err != nil {
		t.Fatal(err)
	}
	if code := p.end(); code != exitStopped {
		t.Errorf("exit code %d, want %d:\n%s", code, exitStopped, p.text.String())
	}
	if _, err := client.Get("http://" + address + "/"); err == nil {
		t.Error("the page outlives the run")
	}
}
