package drawing_test

import (
	"fmt"
	"os"
	"strings"

	"underpin/assess"
	"underpin/drawing"
	"underpin/exchange"
	"underpin/rule"
	"underpin/scene"
)

// The side view of the first pair of a fleet file. The scene is written as SVG
// here; PDF, PNG and DXF take the same scene.
func ExampleSide() {
	f, err := exchange.ReadFleet("../examples/reference-a.toml")
	if err != nil {
		fmt.Println(err)
		return
	}
	law, err := rule.Open(f.Law)
	if err != nil {
		fmt.Println(err)
		return
	}
	cases, err := assess.Cases(&f.Fleet, &f.Trailers[0], "laden")
	if err != nil {
		fmt.Println(err)
		return
	}
	p := assess.Compile(assess.Combination{Tractor: &f.Tractors[0], Trailer: &f.Trailers[0], Cases: cases, Law: law})
	s := drawing.Side(p, p.Assess(assess.AimMargin), drawing.Options{})
	out, err := os.CreateTemp("", "side-*.svg")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.Remove(out.Name())
	if err := s.SVG(out, scene.SVGOptions{Standalone: true}); err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(strings.ReplaceAll(s.Desc, "\u00a0", " "))
	// Output:
	// Side view, facing left: Tractor A with Semi-trailer A, load case laden. Lead 600 mm. Front axle 7.17 t of 7.50 t. Rear axles of the tractor 10.94 t of 11.50 t. Axles of the semi-trailer 21.89 t of 24.00 t. Tractor gross 18.11 t of 18.00 t, fails.
}
