// Package mllp carries messages of HL7 version 2 over TCP by the Minimal Lower Layer
// Protocol: a server, and a client.
//
// Source: HL7 version 2 Transport Specification: MLLP, Release 1.
package mllp

import (
	"bufio"
	"errors"
	"io"
)

// What encloses a message.
const (
	startBlock = 0x0b // VT
	endBlock   = 0x1c // FS
	carriage   = '\r'
)

var (
	// ErrTooLong is a message over the limit.
	ErrTooLong = errors.New("mllp: the message is over the limit")
	// ErrFraming is what is no frame.
	ErrFraming = errors.New("mllp: found bytes outside a frame; expected one from VT to FS and CR")
)

// begin reads up to the start of the next frame. Line breaks between frames are passed
// over, because some senders write them.
func begin(r *bufio.Reader) error {
	for {
		switch c, err := r.ReadByte(); {
		case err != nil:
			return err
		case c == startBlock:
			return nil
		case c != '\r' && c != '\n':
			return ErrFraming
		}
	}
}

// finish reads the rest of a frame that has begun, of at most limit bytes.
func finish(r *bufio.Reader, limit int) ([]byte, error) {
	var message []byte
	for {
		part, err := r.ReadSlice(endBlock)
		if len(message)+len(part) > limit+1 {
			return nil, ErrTooLong
		}
		message = append(message, part...)
		switch {
		case errors.Is(err, bufio.ErrBufferFull):
			continue
		case errors.Is(err, io.EOF):
			return nil, io.ErrUnexpectedEOF
		case err != nil:
			return nil, err
		}
		c, err := r.ReadByte()
		if err != nil {
			return nil, io.ErrUnexpectedEOF
		}
		if c != carriage {
			return nil, ErrFraming
		}
		return message[:len(message)-1], nil
	}
}

// frame encloses a message.
func frame(message []byte) []byte {
	framed := make([]byte, 0, len(message)+3)
	framed = append(framed, startBlock)
	framed = append(framed, message...)
	return append(framed, endBlock, carriage)
}
