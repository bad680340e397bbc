package settings

import "path/filepath"

// FontsFolder returns where fonts of this user's own may lie, beside the settings file.
func FontsFolder() string { return filepath.Join(filepath.Dir(DefaultPath()), "fonts") }
