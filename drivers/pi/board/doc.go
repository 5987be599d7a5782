// Package board tells which board the program runs on.
package board
