// Package view is what the screens show of a shop: plain values with JSON tags, made of
// one state for one [Reader]. TypeScript types are generated from them, so a screen
// never computes with masses: every quantity comes as exact milligrams and as the text
// to print, in the reader's units and language. Lists are never nil.
//
// A view's type and the code that makes it stand in the file of its noun; the table of
// all views is in view.go.
package view
