package web

import (
	"html/template"

	"underpin/unit"
)

func outlineOf(kind string, t typed, title string, sys unit.System) template.HTML { return "" }
