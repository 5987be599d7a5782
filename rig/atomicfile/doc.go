// Package atomicfile writes a file so that its name never stands for half of it.
//
// The new content goes to a temporary file in the same folder, is synced, takes
// the name by renaming, and the folder is synced, so that after a crash at any
// instant the name holds either the whole old content or the whole new one.
package atomicfile
