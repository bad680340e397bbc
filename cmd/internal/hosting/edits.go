package hosting

import (
	"context"

	"rafter/cmd/internal/picture"
	"rafter/cmd/internal/watch"
)

// Edits are those of the theme in use while it is served. The zero value has none.
type Edits struct {
	watch *watch.Watch[*picture.Looks] // nil: it is not watched
	why   error                        // it cannot be
}

// Follow watches the theme of that name, which read reads again in another goroutine; one that ships is never edited.
func Follow(name string, read func() (*picture.Looks, error)) Edits {
	path, own := picture.Path(name)
	if !own {
		return Edits{}
	}
	w, err := watch.Start(path, picture.File, read)
	return Edits{w, err}
}

// Run has the site's pages look as the theme is saved, until the context ends. One with a mistake leaves them as they are,
// and is said.
func (e Edits) Run(ctx context.Context, s *Site, say func(format string, args ...any)) {
	if e.why != nil {
		say("the theme is shown as it was at the start: %v", e.why)
	}
	if e.watch == nil {
		return
	}
	for {
		select {
		case read := <-e.watch.Results():
			if read.Err != nil {
				say("the pages stay as they were: %v", read.Err)
				continue
			}
			s.Use(read.Value)
			say("the pages show the theme as it was saved")
		case <-ctx.Done():
			return
		}
	}
}

// Close ends the watch.
func (e Edits) Close() error {
	if e.watch == nil {
		return nil
	}
	return e.watch.Close()
}
