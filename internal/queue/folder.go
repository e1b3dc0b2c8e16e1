package queue

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"syscall"
)

// folder keeps the queue on disk: a file without content for each patient, named by the logical id, in one folder
// while it waits and in another while it is assessed. To create, rename and delete a file is atomic, so there is
// nothing to repair after a crash.
type folder struct {
	waiting, running string
	lock             *os.File
}

// prefix keeps an id such as ".." from being another file.
const prefix = "patient-"

// openFolder opens the folder of a queue, makes it if it is not there, and returns the patients in it.
func openFolder(path string) (*folder, []string, error) {
	f := &folder{waiting: filepath.Join(path, "waiting"), running: filepath.Join(path, "running")}
	for _, one := range []string{f.waiting, f.running} {
		if err := os.MkdirAll(one, 0o700); err != nil {
			return nil, nil, err
		}
	}
	lock, err := os.OpenFile(filepath.Join(path, "lock"), os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return nil, nil, err
	}
	if err := syscall.Flock(int(lock.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); err != nil {
		_ = lock.Close() // nothing was written
		return nil, nil, fmt.Errorf("%s: another process has this queue; expected a folder of its own for each", path)
	}
	f.lock = lock
	left, err := f.recover()
	return f, left, err
}

// recover lets wait again what an earlier process was assessing, and lists all.
func (f *folder) recover() (patients []string, err error) {
	interrupted, err := os.ReadDir(f.running)
	if err != nil {
		return nil, err
	}
	for _, e := range interrupted {
		if err := os.Rename(filepath.Join(f.running, e.Name()), filepath.Join(f.waiting, e.Name())); err != nil {
			return nil, err
		}
	}
	left, err := os.ReadDir(f.waiting)
	for _, e := range left {
		if patient, ok := strings.CutPrefix(e.Name(), prefix); ok {
			patients = append(patients, patient)
		}
	}
	return patients, err
}

// add writes patients. They are on disk when it returns.
func (f *folder) add(patients []string) error {
	for _, patient := range patients {
		file, err := os.OpenFile(filepath.Join(f.waiting, prefix+patient), os.O_CREATE|os.O_WRONLY, 0o600)
		if err != nil {
			return err
		}
		if err := file.Close(); err != nil {
			return err
		}
	}
	return syncFolder(f.waiting)
}

// syncFolder waits until the names in a folder are on disk.
func syncFolder(path string) error {
	dir, err := os.Open(path)
	if err != nil {
		return err
	}
	return errors.Join(dir.Sync(), dir.Close())
}

// begin notes that a patient is being assessed. If that fails, or a crash undoes it, the patient waits still.
func (f *folder) begin(patient string) {
	_ = os.Rename(filepath.Join(f.waiting, prefix+patient), filepath.Join(f.running, prefix+patient))
}

// finish notes the end of an assessment. If that fails, or a crash undoes it, the patient is assessed once more,
// which changes nothing in the record.
func (f *folder) finish(patient string, again bool) {
	if again {
		_ = os.Rename(filepath.Join(f.running, prefix+patient), filepath.Join(f.waiting, prefix+patient))
		return
	}
	_ = os.Remove(filepath.Join(f.running, prefix+patient))
}
