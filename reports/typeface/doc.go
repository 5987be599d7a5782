// Package typeface is the one typeface of printed documents.
package typeface
