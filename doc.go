// Package underpin is the root of the module and holds no code; its tests hold
// the policy of the whole: who may import whom, what each formula's comment
// must say, and that every source named anywhere stands in the register.
//
// Underpin answers whether a tractor can pull a semi-trailer: axle loads,
// coupling strength, clearances, turning and the law, each number with its
// limit, margin, source and working. The calculation packages (axleload,
// rating, clearance, turning, bolting, wear) are a library of plain functions
// over the quantities of package unit; package assess puts them together.
// ARCHITECTURE.md tells how the parts fit.
package underpin
