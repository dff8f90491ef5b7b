package req

import (
	"path/filepath"

	"reddside/internal/store"
)

// BackupDir is where the daily backups are kept: beside the logbook.
func (s *Kernel) BackupDir() string {
	return filepath.Join(filepath.Dir(s.DB.Path()), store.BackupDir)
}
