// Package report makes documents for paper. It computes nothing: what stands on
// a document comes from data that others have computed, and its dates from that
// data too, so that the same data gives the same bytes.
//
// Pages are A4. Tables repeat their heads on each page and break between rows
// only. A state is a shape and a word; colour comes third. A document that is
// not released says so on every page.
package report
