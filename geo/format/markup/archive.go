package markup

import (
	"archive/zip"
	"compress/flate"
	"errors"
	"fmt"
	"io"
	"path"
	"strings"

	"hemrow/geo"
)

// maxMembers bounds what an archive lists: a field with every picture taken of
// it has some hundreds.
const maxMembers = 4096

// encrypted is bit 0 of the general purpose flags (PKWARE APPNOTE 6.3.10, 2022,
// section 4.4.4; from memory).
const encrypted = 1

// IsZip reports whether a file begins like a zip archive.
func IsZip(head []byte) bool {
	return strings.HasPrefix(string(head), "PK\x03\x04") || strings.HasPrefix(string(head), "PK\x05\x06")
}

// ReadArchive reads a whole archive into memory, at most MaxBytes.
func ReadArchive(name string, in io.Reader) ([]byte, error) {
	all, err := io.ReadAll(io.LimitReader(in, MaxBytes+1))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if len(all) > MaxBytes {
		return nil, &geo.InputError{
			File: name, Problem: fmt.Sprintf("the archive is larger than %d MiB", MaxBytes>>20), Hint: "pack only the field",
		}
	}
	return all, nil
}

// OpenArchive lists a zip archive and refuses what no export program makes:
// paths that leave the archive, passwords, too many members. name is the file
// as the user named it.
func OpenArchive(name string, r io.ReaderAt, size int64) (*zip.Reader, error) {
	z, err := zip.NewReader(r, size)
	if z == nil {
		return nil, &geo.InputError{
			File: name, Problem: fmt.Sprintf("the zip archive cannot be read: %v", err),
			Hint: "it was cut short or is damaged; fetch or export it again",
		}
	}
	if len(z.File) > maxMembers {
		return nil, &geo.InputError{
			File: name, Problem: fmt.Sprintf("the archive has %d members; %d are allowed", len(z.File), maxMembers),
			Hint: "pack only the field",
		}
	}
	for _, f := range z.File {
		switch member := strings.ReplaceAll(f.Name, `\`, "/"); {
		case strings.HasPrefix(member, "/") || strings.Contains("/"+member+"/", "/../"):
			return nil, &geo.InputError{
				File: name, Problem: fmt.Sprintf("member %s has a path that leaves the archive", Clip(f.Name)),
				Hint: "no export program writes this; do not trust the file",
			}
		case f.Flags&encrypted != 0 && !Litter(member):
			return nil, &geo.InputError{
				File: name, Problem: fmt.Sprintf("member %s is locked with a password", Clip(f.Name)),
				Hint: "pack it again without a password",
			}
		}
	}
	return z, nil
}

// Litter reports whether a member is what operating systems leave in archives.
func Litter(member string) bool {
	base := path.Base(member)
	return strings.HasPrefix(base, "._") || base == ".DS_Store" || strings.HasPrefix("/"+member, "/__MACOSX/")
}

// damaged reports whether an error of reading lies in the archive, not in the
// medium.
func damaged(err error) bool {
	var corrupt flate.CorruptInputError
	return errors.Is(err, zip.ErrChecksum) || errors.Is(err, zip.ErrFormat) || errors.Is(err, zip.ErrAlgorithm) ||
		errors.Is(err, io.ErrUnexpectedEOF) || errors.As(err, &corrupt)
}
