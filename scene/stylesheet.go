package scene

import (
	"fmt"
	"strings"
)

// Tokens returns the colours of the roles as custom properties, for light and
// for dark (by the reader's system, or by the attribute data-theme="light" or
// "dark" of the page's root), and for print.
func Tokens() string {
	var b strings.Builder
	block := func(indent string, t Theme) {
		for _, r := range Roles {
			fmt.Fprintf(&b, "%s--%s: %s;\n", indent, r, hex(t.Colour(r)))
		}
	}
	b.WriteString(":root {\n")
	block("  ", Light)
	b.WriteString("}\n@media (prefers-color-scheme: dark) {\n  :root:not([data-theme=\"light\"]) {\n")
	block("    ", Dark)
	b.WriteString("  }\n}\n:root[data-theme=\"dark\"] {\n")
	block("  ", Dark)
	b.WriteString("}\n@media print {\n  :root, :root[data-theme] {\n")
	block("    ", Print)
	b.WriteString("  }\n}\n")
	return b.String()
}

// Stylesheet returns the rules that give the drawing's classes their colours
// from the custom properties of Tokens, and the sheet behind them, which the
// gaps at figures are filled with. A page may restyle any of them.
func Stylesheet() string {
	return drawingRules + ".drawing { background: var(--sheet); }\n" + colourRules("", func(r Role) string { return "var(--" + string(r) + ")" })
}

const drawingRules = ".drawing { fill: none; stroke: none; stroke-linejoin: round; font-variant-numeric: tabular-nums; }\n"

// fileStyle is the stylesheet of a file of its own. It names the colours
// themselves, because many programs that read SVG know no custom properties.
func fileStyle() string {
	of := func(t Theme) func(Role) string { return func(r Role) string { return hex(t.Colour(r)) } }
	return drawingRules + colourRules("", of(Light)) +
		"@media screen and (prefers-color-scheme: dark) {\n" + colourRules("  ", of(Dark)) + "}\n"
}

func colourRules(indent string, colour func(Role) string) string {
	var b strings.Builder
	for _, r := range Roles {
		if r == RolePaper {
			continue // of the page, not of the drawing
		}
		fmt.Fprintf(&b, "%s.drawing .line-%s { stroke: %s; }\n%s.drawing .fill-%s { fill: %s; }\n", indent, r, colour(r), indent, r, colour(r))
	}
	return b.String()
}
