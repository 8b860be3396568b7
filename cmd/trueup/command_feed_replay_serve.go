package main

import (
	"context"
	"fmt"
	"io"
	"net"
	"sync"
	"time"

	"github.com/spf13/cobra"

	"trueup/loop/feed"
	"trueup/profiles/userfile"
)

// serveRecording plays what an instrument said to everybody who connects, again
// and again, until stopped.
func serveRecording(c *cobra.Command, path, listen string) error {
	file, err := userfile.Open(path, userfile.Recording)
	if err != nil {
		return &exitError{exitNotAll, err}
	}
	defer file.Close()
	base := time.Unix(0, 0)
	traffic, err := feed.ReadRecording(path, file, base)
	if err != nil {
		return &exitError{exitNotAll, err}
	}
	ln, err := net.Listen("tcp", listen)
	if err != nil {
		return &exitError{exitNotAll, err}
	}
	ctx, cancel := interruptible(0)
	defer cancel()
	context.AfterFunc(ctx, func() { ln.Close() })
	fmt.Fprintf(c.ErrOrStderr(), "serving %s at %v; stop with Ctrl-C\n", path, ln.Addr())
	var wg sync.WaitGroup
	defer wg.Wait()
	for {
		conn, err := ln.Accept()
		if err != nil {
			if ctx.Err() != nil {
				return nil
			}
			return &exitError{exitNotAll, err}
		}
		wg.Go(func() {
			defer conn.Close()
			defer context.AfterFunc(ctx, func() { conn.Close() })()
			go io.Copy(io.Discard, conn) // what it is asked is not compared
			start := time.Now()
			for _, t := range traffic {
				select {
				case <-time.After(time.Until(start.Add(t.At.Sub(base)))):
				case <-ctx.Done():
					return
				}
				if t.Sent {
					continue
				}
				if _, err := fmt.Fprintf(conn, "%s\r\n", t.Data); err != nil {
					return
				}
			}
		})
	}
}
