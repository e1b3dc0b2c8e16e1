package service

import "bytes"

// asField is an encoded resource as a field of the messages of encoded; none of nil.
func asField[T any](resource *T, write func([]byte, *T) ([]byte, error)) ([][]byte, error) {
	if resource == nil {
		return nil, nil
	}
	out := replies.Get().(*reply)
	defer out.release()
	var err error
	if out.bytes, err = write(out.bytes[:0], resource); err != nil {
		return nil, err
	}
	return [][]byte{bytes.Clone(out.bytes)}, nil
}
