package formula_test

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"underpin/formula"
)

// A check runs words through the parser and the JSON of the answer and holds
// the outputs against what was published or worked out elsewhere.
//
// want is a row of name=value with the unit behind the number; the tolerance is
// half of the last digit, unless one follows after "~".
type check struct{ calc, words, want, source string }

const (
	vehicleA = "wheelbase=3.7m lead=0.6m tare-front=5.5t tare-rear=2.3t pin-to-bogie=7.7m tare-pin=1.9t tare-bogie=4.4t"
	loadA    = vehicleA + " payload=25.9t payload-at=5.2m"
	stopA    = loadA + " coupling-height=1.15m trailer-cg-height=1.923913m tractor-cg-height=1m"
	// Handbook chapter 03, 8 C, with the load centre 264 in behind the kingpin.
	vehicleC = "wheelbase=235in tare-front=11000lb tare-rear=7500lb pin-to-bogie=486in tare-pin=5400lb tare-bogie=9100lb payload=45000lb payload-at=264in"
	limitsA  = vehicleA + " max-front=7.5t max-rear=11.5t max-tractor=18t max-imposed=12t max-bogie=24t max-gross=40t"
	guideE   = "guide-radius=12.5m guide-ahead=5.075m guide-left=-1.275m lead=0.575m"
	turnE    = guideE + " pin-to-bogie=7.7m width=2.55m front-overhang=1.5925m rear-end=12m"
	// Eleven rows of three pallets, 2.25 t each, the first 0.6 m behind the headboard.
	roundA = vehicleA + " item=m:2.25t,s:11m item=m:2.25t,s:9.8m item=m:2.25t,s:8.6m item=m:2.25t,s:7.4m item=m:2.25t,s:6.2m item=m:2.25t,s:5m" +
		" item=m:2.25t,s:3.8m item=m:2.25t,s:2.6m item=m:2.25t,s:1.4m item=m:2.25t,s:0.2m item=m:2.25t,s:-1m"
	prior   = " start=0mm start-sd=0.05mm rate=0.30 rate-sd=0.08 drift=0.0025 gauge-sd=0.10mm limit=1.8mm"
	bolts12 = "bolt=x:-120mm,y:350mm bolt=x:-120mm,y:400mm bolt=x:-120mm,y:-350mm bolt=x:-120mm,y:-400mm bolt=x:0mm,y:350mm bolt=x:0mm,y:400mm bolt=x:0mm,y:-350mm bolt=x:0mm,y:-400mm" +
		" bolt=x:120mm,y:350mm bolt=x:120mm,y:400mm bolt=x:120mm,y:-350mm bolt=x:120mm,y:-400mm"

	h1, h2, h3, h4, h5, h6 = "handbook chapter 01, ", "handbook chapter 02, ", "handbook chapter 03, ", "handbook chapter 04, ", "handbook chapter 05, ", "handbook chapter 06, "
)

var checks = []check{
	{"d-value", "tractor-gross=18t trailer-gross=35t imposed=11t", "d=88.2900kN", h1 + "6 row 10"},
	{"d-value", "tractor-gross=18t trailer-gross=36000kg imposed=12t", "d=90.8126kN", h1 + "6 row 11"},
	{"d-value", "imposed=20t trailer-gross=66t tractor-gross=26t", "d=140.2830kN", h1 + "6 row 16"},
	{"d-value", "tractor-gross=18t trailer-gross=32.2t imposed=10.2t", "d=85.288kN", h3 + "6.3"},
	{"d-value-limits", "d=150kN tractor-gross=33t imposed=20t", "trailer-max=44079.8kg unlimited=false", h1 + "6 row 24"},
	{"d-value-limits", "d=150kN trailer-gross=33t imposed=20t", "tractor-max=44079.8kg unlimited=false", h1 + "6 row 24; algebra: D is symmetric in T and R"},
	{"d-value-limits", "d=150kN tractor-gross=18t imposed=11t", "trailer-max=null unlimited=true", h1 + "6 row 26"},
	{"d-value-limits", "d=108kN tractor-gross=22t imposed=14t", "trailer-max=40201.0kg unlimited=false", h1 + "6 row 27"},
	{"d-value-limits", "d=108kN tractor-gross=22t trailer-gross=37t", "imposed-max=14637.0kg unlimited=false", h1 + "6 row 29"},
	{"train-d", "tractor=22.5t trailer=u:14t,a:20t trailer=u:13t,a:20t", "d1=114.42kN d2=132.08kN", h1 + "1.3, B-double of 62.5 t"},
	{"hinged-drawbar-d", "tractor=26t trailer=17t", "d=100.8377kN", h1 + "6 row 18; algebra: the form of Dc with R for C"},
	{"dc-value", "tractor=26t trailer-axles=17t", "dc=100.8377kN", h1 + "6 row 18"},
	{"dc-value", "tractor=18t trailer-axles=10t", "dc=63.0643kN", h1 + "6 row 19"},
	{"v-value", "acceleration=1.8m/s2 load-length=7.7m drawbar-length=7.3m trailer-axles=17t", "v=34.0453kN", h1 + "6 row 20"},
	{"v-value", "acceleration=1.8m/s2 load-length=6m drawbar-length=6.5m trailer-axles=10t", "v=18.0000kN", h1 + "6 row 22"},
	{"v-value", "acceleration=2.4m/s2 load-length=6m drawbar-length=5m trailer-axles=10t", "v=34.5600kN", h1 + "6 row 23"},
	{"approval-forces", "d=150kN u=20t", "horizontal=90.00kN vertical-upper=235.44kN vertical-lower=78.48kN lift-no-set=196.20kN lift-hold=490.50kN steering-moment=0N.m", h1 + "4.1, check values; a published 490 kN"},
	{"approval-forces", "d=150kN u=20t steered=true", "horizontal=101.25kN steering-moment=112500N.m steering-force=225.0kN", h1 + "4.1, check values"},
	{"approval-forces", "d=150kN u=36t size=90 steered=true lever=0.4m", "lift-hold=565.06kN steering-force=281.25kN", h1 + "4.1, check values"},

	{"axle-loads", loadA, "imposed=10309.091kg front=7171.744kg rear=10937.346kg bogie=21890.909kg gross=40000kg", h3 + "8 A"},
	{"axle-loads", vehicleC + " lead=8in", "imposed=25955.56lb front=11883.6lb rear=32572.0lb bogie=33544.44lb", h3 + "8 C"},
	{"chain-loads", "unit=w:9t,x:1.62444m,l:4.3m,c:3.95m unit=w:23.5t,x:3.774468m,l:7.2m,c:7m unit=w:30.5t,x:5.285246m,l:8.3m,c:0m",
		"v1=6535.10kg b1=13953.18kg v2=11488.29kg b2=23090.03kg v3=11078.31kg b3=19421.69kg", h3 + "1.5, test vector"},
	{"bogie-line", "at=3.6m at=4.95m share=0.6052632 share=0.3947368", "line=4.13289m", h3 + "1.3, 11.5 t and 7.5 t"},
	{"bogie-line", "at=3.6m share=50% at=4.95m share=50%", "line=4.275m", h3 + "1.3, equal tandem"},
	{"load-centre", "item=m:4.80t,s:1.20m item=m:5.40t,s:3.60m item=m:7.99t,s:6.55m item=m:3.00t,s:8.95m item=m:5.76t,s:10.8m item=m:5.80t,s:12.6m", "mass=32750kg at=7.3182m",
		"German load-securing handbook 6.2.5, table 3, its first four rows, with two of ours; " + h3 + "2 P3b"},
	{"weighbridge", vehicleA + " front=7172kg rear=10937kg bogie=21891kg", "imposed=10309kg payload-at=5.200m", h3 + "1.2"},
	{"lift-state", "front=1.9t axle=at:7.7m,w:4.4t line=8.355m", "tare-front=2244.9kg tare-rear=4055.1kg centre=5.377778m", h3 + "1.4 and 8 A, front axle lifted"},
	{"lift-state", "front=1.9t axle=at:7.7m,w:4.4t line=7.045m", "tare-front=1490.9kg tare-rear=4809.1kg", h3 + "1.4, rear axle lifted"},
	{"lift-state", "front=5.6t axle=at:2.75m,w:1.2t axle=at:4.10m,w:2.2t line=4.1m", "centre=1.368889m tare-front=5995.122kg tare-rear=3004.878kg", h3 + "8 B"},
	{"elastic-supports", "axle=at:0m,k:400 axle=at:3.6m,k:1000 axle=at:4.95m,k:1000 mass=100kg centre=3m", "load1=28.1124kg load2=41.3655kg load3=30.5221kg lifts=false", h3 + "1.3 note 3"},
	{"elastic-supports", "axle=at:0m,k:400 axle=at:3.6m,k:1000 axle=at:4.95m,k:600 mass=100kg centre=3m", "load1=26.1603kg load2=48.5232kg load3=25.3165kg", h3 + "1.3 note 3"},
	{"side-share", "offset=0.1m track=2.5m", "share=0.54", h3 + "3.2: the 4 % allowance of a load plan is 10 cm on the vehicle's width"},
	{"landing-legs", "mass=13.05t centre=2.699617m pin-to-bogie=7.7m legs=2.4m", "legs=12312kg bogie=738kg tips=false leg-use=null", h3 + "1.6, three rows left"},
	{"landing-legs", "mass=13.05t centre=2.699617m pin-to-bogie=7.7m legs=2.4m truck=4.5t truck-at=-1m leg-rating=24.624t", "tips=true", h3 + "1.6, with the fork-lift truck"},
	{"landing-legs", "mass=13.05t centre=2.699617m pin-to-bogie=7.7m legs=2.4m leg-rating=24.624t", "leg-use=0.500", h3 + "1.6; 12.312/24.624 by hand"},

	{"payload-limit", limitsA + " payload-at=-0.6m", "payload=7700kg governed-by=max-tractor", h3 + "3.3, s = 1.0 m, governed by K"},
	{"payload-limit", limitsA + " payload-at=5.2m min-drive-share=25% min-steer-share=20%", "payload=25564kg governed-by=max-tractor", h3 + "3.3, s = 6.8 m"},
	{"payload-limit", limitsA + " payload-at=5.4m", "payload=25900kg governed-by=max-gross", h3 + "3.3, s = 7.0 m"},
	{"payload-limit", limitsA + " payload-at=5.9m", "payload=25580kg governed-by=max-bogie", h3 + "3.3, s = 7.5 m"},
	{"payload-limit", limitsA + " payload-at=5.9m min-drive-share=0.25", "payload=6776kg governed-by=min-drive-share", h3 + "3.3, s = 7.5 m with curve 6"},
	{"payload-limit", vehicleA + " payload-at=5.2m", "payload=null governed-by=", "algebra: without a limit there is no bound"},
	{"imposed-limit", "wheelbase=3.7m lead=0.6m tare-front=5.5t tare-rear=2.3t max-front=7.5t", "imposed=12333kg governed-by=max-front", h3 + "3.3, steer"},
	{"imposed-limit", "wheelbase=3.7m lead=0.6m tare-front=5.5t tare-rear=2.3t max-front=7.5t max-rear=11.5t", "imposed=10981kg governed-by=max-rear", h3 + "3.3, drive"},
	{"imposed-limit", "wheelbase=3.7m lead=0.6m tare-front=5.5t tare-rear=2.3t max-front=7.5t max-rear=11.5t max-tractor=18t max-imposed=12t", "imposed=10200kg governed-by=max-tractor", h3 + "3.3, tractor gross"},
	{"lead-range", loadA + " max-front=7.5t max-rear=11.5t", "min=0.398m max=0.718m caution=", h3 + "4.1, vehicle A at K = 10.309"},
	{"lead-range", vehicleA + " payload=18t payload-at=3.2m max-front=7.5t max-rear=11.5t", "min=0.959m max=0.596m", h3 + "4.1, worst stage: no hole"},
	{"lead-transfer", "imposed=10309kg wheelbase=3.7m forward=50mm", "moved=139kg", h3 + "4.1, vehicle A"},
	{"lead-transfer", "imposed=25956lb wheelbase=235in forward=4in", "moved=442lb", h3 + "4.1, US"},
	{"slider-steps", "excess=700lb per-step=400lb", "steps=2", "US slider exercise 1; " + h3 + "2 P4"},
	{"slider-steps", "excess=1050lb per-step=250lb", "steps=5", "US slider exercise 2; " + h3 + "2 P5"},
	{"slider-steps", "excess=2200lb per-step=300lb", "steps=8 moved=2400lb", "\"Tractor axle loading\", 10 Sep 2020: legal at 16 in; " + h3 + "2 P6"},
	{"tandem-slider", vehicleC + " lead=8in running-gear=5500lb new-pin-to-bogie=474in", "bogie=34254.4lb imposed=25245.6lb", h3 + "4.2, 12 in forward: 33,544.44 + 710.0"},
	{"tandem-slider", vehicleC + " lead=8in running-gear=5500lb new-pin-to-bogie=492in", "bogie=33202.4lb", h3 + "4.2, 6 in back: 33,544.44 − 342.0"},
	{"round-extremes", roundA, "imposed-most=12419kg imposed-least=59kg", h3 + "5.2"},
	{"round", roundA, "payload1=24750kg imposed1=10579kg front1=7215kg rear1=11163kg bogie1=20471kg imposed4=12419kg front4=7514kg rear4=12706kg bogie4=11881kg imposed12=1900kg payload12=0kg rear12=3892kg",
		h3 + "5.2, rows left 11, 8 and 0"},

	{"braking-transfer", stopA + " deceleration=0 case=a", "imposed=10309kg thrust=0kN front=7172kg rear=10937kg bogie=21891kg", h3 + "6.1, z = 0"},
	{"braking-transfer", stopA + " deceleration=0.3 case=a", "imposed=12177kg thrust=35.84kN front=9243kg rear=10735kg bogie=20023kg", h3 + "6.1, z = 0.3 a"},
	{"braking-transfer", stopA + " deceleration=0.5 case=a", "imposed=13336kg thrust=65.41kN front=10789kg rear=10347kg bogie=18864kg", h3 + "6.1, z = 0.5 a"},
	{"braking-transfer", stopA + " deceleration=0.5 case=b", "imposed=14332kg thrust=0kN front=8878kg rear=13254kg bogie=17868kg", h3 + "6.1, z = 0.5 b"},
	{"braking-transfer", stopA + " deceleration=50% case=c", "imposed=11927kg thrust=157.94kN front=13492kg rear=6235kg bogie=20273kg", h3 + "6.1, z = 0.5 c"},
	{"uphill-pull", stopA + " grade=10%", "imposed=9936kg front=5878kg rear=11819kg pull=31.43kN friction=0.337", h3 + "6.2"},
	{"height-transfer", "stiffness=2 from-centre=1.31m height=50mm pin-to-bogie=7.7m", "transfer=17.0kN", h3 + "1.3 note 4"},
	{"roll-threshold", "track=2.04m centre-height=1.6m", "g=0.6375", h3 + "6.5"},
	{"roll-threshold", "track=2.04m centre-height=2.2m", "g=0.4636", h3 + "6.5"},
	{"roll-threshold-leaning", "track=2.04m centre-height=2.2m roll-axis=0.7m compliance=6deg", "g=0.4327", h3 + "6.5"},
	{"wheel-lift", "centre-height=1.92m roll-axis=0.7m support=w:7.297t,t:2.04m,c:900kN.m support=w:7.297t,t:2.04m,c:900kN.m support=w:7.297t,t:2.04m,c:900kN.m support=w:10.309t,t:1.90m,c:404.52516kN.m",
		"g=0.36867 lean=13.6077deg g-lift1=0.36373 lean-lift1=4.6483deg g-rigid=0.51958", h3 + "6.5, progressive wheel lift"},
	{"curve-speed", "lateral=0.35 radius=50m", "speed=47.2km/h", h3 + "6.5"},

	{"bridge-formula", "axles=2 length=10ft ties=down", "limit=40000lb", "Wisconsin guide, example W1; " + h2 + "6 row 34"},
	{"bridge-formula", "axles=3 length=14ft ties=down", "limit=46500lb", "Wisconsin guide, example W2; " + h2 + "6 row 35"},
	{"bridge-formula", "axles=3 length=9ft ties=down", "limit=42500lb", "RCW 46.44.041, California Vehicle Code 35551; " + h2 + "6 row 37"},
	{"bridge-formula", "axles=3 length=9ft ties=up", "limit=43000lb", "67 Pa. Code § 185.3; " + h2 + "6 row 37"},
	{"bridge-formula", "axles=7 length=28ft", "limit=76500lb", "RCW 46.44.041; " + h2 + "6 row 39"},
	{"bridge-formula", "axles=4 length=38ft", "limit=67500lb", h2 + "6 row 45: raw, without the exception of 68,000"},
	{"bridge-formula", "axles=5 length=50ft\u00a06in", "limit=80000lb", "Wisconsin guide: 50 ft 6 in counts as 51; " + h2 + "6 rows 48 and 49"},
	{"bridge-formula", "axles=5 length=50ft5in", "limit=79000lb", "Wisconsin guide: 50 ft 5 in counts as 50; 500 (50·5/4 + 96) = 79,250, tie down"},
	{"reference-wheelbase", "width=2.55m outer=12.5m inner=5.3m fitting-radius=2.04m", "limit=8.135169021m", h4 + "1.11; a press note of 1999 prints 8.13"},
	{"reference-wheelbase", "width=2.6m outer=12.5m inner=5.3m fitting-radius=2.04m", "limit=8.114899876m", h4 + "1.11"},
	{"longest-body", "kingpin-to-rear=12m front-radius=2.04m width=2.5m", "length=13.61m", "trade press, 25 October 1990; " + h2 + "6 row 2"},
	{"longest-body", "kingpin-to-rear=12m front-radius=2.04m width=2.55m", "length=13.592m front-overhang=1.5925m", h1 + "3.3"},
	{"axle-group-limit", "law=de kind=trailer axles=2 spacing=0.99m", "limit=11t", "StVZO § 34(4) no. 3; " + h2 + "6 row 13"},
	{"axle-group-limit", "law=de kind=trailer axles=2 spacing=1.29m", "limit=16t", "StVZO § 34(4) no. 3; " + h2 + "6 row 13"},
	{"axle-group-limit", "law=de kind=trailer axles=2 spacing=1.80m", "limit=20t", "StVZO § 34(4) no. 3; " + h2 + "6 row 13"},
	{"axle-group-limit", "law=de kind=motor axles=2 spacing=1.30m drive=true", "limit=18t", "StVZO § 34(4) no. 2; " + h2 + "6 row 14"},
	{"axle-group-limit", "law=de kind=motor axles=2 spacing=1.30m drive=true twin-tyres=true air=true", "limit=19t", "StVZO § 34(4) no. 2; " + h2 + "6 row 14"},
	{"axle-group-limit", "law=de kind=trailer axles=3 spacing=1.30m", "limit=21t", "StVZO § 34(4) no. 4; " + h2 + "6 row 16"},
	{"axle-group-limit", "law=de kind=trailer axles=3 spacing=1310mm", "limit=24t", "StVZO § 34(4) no. 4; " + h2 + "6 row 16"},
	{"axle-group-limit", "law=fr kind=trailer axles=2 spacing=1.30m", "limit=10.15t", "Code de la route R312-6 I; " + h2 + "6 row 25: each axle"},
	{"axle-group-limit", "law=uk kind=trailer axles=3 spacing=1.31m", "limit=24000kg", "SR 1999/258, Sch. 3 VI; " + h2 + "6 row 32"},
	{"axle-group-limit", "law=us kind=motor axles=1 drive=true", "limit=20000lb", "23 U.S.C. 127(a)(2); " + h2 + "3.1"},
	{"german-gross", "tractor-gross=18t trailer-gross=36t tractor-imposed=10.5t trailer-imposed=12t", "gross=42000kg imposed=12000kg", h2 + "6 row 22"},

	{"turn-steady", guideE + " pin-to-bogie=7.7m width=2.55m", "inner=5.36057990576m outer=12.5m ring=7.13942009424m articulation=46.0035722537deg", h4 + "1.8 R4"},
	{"turn-steady", "guide-radius=12m guide-ahead=3.7m guide-left=0m lead=0.575m pin-to-bogie=7.7m width=0m", "inner=8.44692991566m articulation=39.4678833711deg", h4 + "1.8 R3"},
	{"turn-steady-train", "guide-radius=12m guide-ahead=3.7m guide-left=0m width=2.55m tractor-front=5m tractor-rear=0.9m unit=e:0.4m,l:6.5m,f:1.2m,r:8m unit=e:-0.3m,l:7m,f:1.6m,r:11m",
		"axle2=9.3925502394m axle3=6.2697687358m articulation2=32.677844089deg articulation3=49.979209221deg", h4 + "1.8 R5"},
	{"turn", turnE + " angle=90deg exit=true", "inner-axle=6.7584778m swing-out=0.258996m articulation-end=30.359388891deg", h4 + "1.8 R4, partial turns and swing-out"},
	{"turn", turnE + " angle=180deg exit=true", "inner-axle=5.7708726m", h4 + "1.8 R4, partial turns"},
	{"turn", turnE + " angle=90deg exit=false", "inner-axle=7.6176967m inner-body=7.3056819m", h4 + "1.8 R4, at 90°"},
	{"turn", turnE + " angle=360deg exit=false", "inner-axle=5.3946066m inner-body=5.3945265m articulation-end=45.750516931deg articulation-max=45.750516931deg", h4 + "1.8 R4, at 360°"},
	{"legal-circle", "outer=12.5m tractor-front=5.075m tractor-rear=0.9m tractor-width=2.55m lead=0.575m pin-to-bogie=7.7m front-overhang=1.5925m rear-end=12m trailer-width=2.55m",
		"inner=5.39453m swing-out=0.25900m articulation-end=45.75052deg inner-steady=5.36057990576m ring=7.10547m", h4 + "1.8 R4, at 360°; its lengths to 0.001 mm are what the calculation promises"},
	{"turn-to-articulation", guideE + " pin-to-bogie=7.7m limit=30.3593888908712deg", "turned=90.00000000deg drift=23.3048925878deg", h4 + "1.8 R4: γ at 90°, and ψ − θ1 there"},
	{"swept-width", "guide-radius=12.5m guide-ahead=3.7m guide-left=-1.275m lead=0.575m angle=90deg tractor-front=5.075m tractor-rear=0.9m tractor-width=2.55m pin-to-bogie=7.7m front-overhang=1.5925m rear-end=12m trailer-width=2.55m",
		"width=5.8134m~0.0002 azimuth=62.8deg~0.3 outer=12.9588m~0.002 inner=7.1454m~0.002", h4 + "1.8 R7"},
	{"offtracking", "outer-wheel-radius=50ft half-track=3.21ft wheelbase=105in lead=1ft pin-to-bogie=21ft", "offtracking=5.88322685ft", "city's public works document, page 53; " + h4 + "1.9"},
	{"offtracking", "outer-wheel-radius=1000ft half-track=3.21ft wheelbase=105in lead=1ft pin-to-bogie=21ft", "offtracking=0.259146657ft", h4 + "1.9"},
	{"sum-of-squares", "radius=10.8018653799m length=3.7m length=7.7m lead=0.575m", "offtracking=4.16628547m linear=3.362816164m", h4 + "1.9, vehicle E"},
	{"turning-radius", "wheelbase=198in track=77in inner-wheel-angle=30deg", "radius=464.3in", "city's public works document, page 39, printed example"},
	{"equivalent-axle", "at=6.39m at=7.7m at=9.01m", "centre=7.70m equivalent=7.848580087m", h4 + "1.6"},
	{"equivalent-axle", "at=11.62m at=12.98m", "centre=12.30m equivalent=12.3375935m", h4 + "1.6"},
	{"longest-pin-to-bogie", guideE + " width=2.55m inner=5.3m", "pin-to-bogie=7.75179306262m", h4 + "1.8 R4"},
	{"drift", "radius=10m length=7.7m turned=90deg", "drift=40.0088199193deg axle-radius=7.76418374634m", h4 + "1.8 R1"},
	{"drift", "radius=10m length=12m turned=360deg", "drift=106.934672539deg axle-radius=3.79565571306m", h4 + "1.8 R1, folds up"},
	{"straighten", "start=40deg length=7.7m distance=20m", "articulation=3.105092693deg", h4 + "1.8 R6"},

	{"swing-radius", "overhang=1.6m width=2.55m corner=0mm", "radius=2.045880m", h4 + "2.2"},
	{"swing-radius", "overhang=1.6m width=2.55m corner=30mm", "radius=2.033728m", h4 + "2.2"},
	{"longest-overhang", "radius=2.04m width=2.6m corner=0m", "overhang=1.572132m", h4 + "2.2"},
	{"nose-depth", "radius=2.04m overhang=1.5925m offset=0.9m", "depth=0.2382m", h4 + "2.2"},
	{"cab-gap", "cab-to-coupling=2.225m swing-radius=2.04m height=250mm pitch=6deg tilt-axis-depth=88.9mm", "reach=2.064249m gap=0.16075m", h4 + "2.3: 80.75 mm above the 80 mm"},
	{"cab-gap", "cab-to-coupling=2.225m swing-radius=2.04m height=2.8m pitch=6deg tilt-axis-depth=88.9mm", "reach=2.330797m", h4 + "2.3"},
	{"trailer-point", "x=1.5925m y=1.275m z=0.25m yaw=-20deg pitch=6deg roll=3deg tilt-axis-depth=88.9mm", "x=1.960900406m y=0.6348088395m z=0.07968764427m", h4 + "2.1"},
	{"trailer-point", "x=1.5925m y=1.275m z=0.25m yaw=-90deg pitch=6deg roll=3deg tilt-axis-depth=88.9mm", "x=1.294679639m y=-1.60805419m z=0.03151933568m", h4 + "2.1"},
	{"leg-gap", "lead=0.575m leg-radius=2.3m point=x:0.90m,y:0.40m point=x:0.62m,y:1.275m", "radius=1.747470m gap=0.5525m", h4 + "2.4"},
	{"leg-leads", "leg-radius=90in clearance=0in point=x:24.5in,y:51in", "max=49.655in", "SAE J701 solved for FW with R + C = 24.5 in; " + h4 + "2.4"},
	{"frame-gap", "distance=1.475m below=0.235m offset=0m pitch=6deg roll=0deg tilt-axis-depth=90mm underside=0mm bump=0mm", "gap=0.0804669981m", h4 + "2.5"},
	{"frame-gap", "distance=1.475m below=0.235m offset=0m pitch=12deg roll=0deg tilt-axis-depth=90mm underside=-20mm bump=0mm", "gap=-0.0969570868m", h4 + "2.5"},
	{"tyre-gap", "distance=0.575m wheel-height=-0.66m tyre-radius=0.51m offset=0m pitch=7deg roll=0deg tilt-axis-depth=90mm underside=0mm bump=0mm", "gap=0.0756764340m level=0.150000m", h4 + "2.5"},
	{"j701-cab-distance", "height=40in swing-radius=60in", "distance=64.40043514in", "SAE J701, formula; " + h4 + "2.3"},
	{"j701-leg-distance", "width=102in lead=0in tyre-radius=20.5in", "distance=56.5796in", "SAE J701, formula; " + h4 + "2.4"},
	{"coupling-height", "tyre-radius=494mm suspension=455mm subframe=0mm mounting-plate=12mm fifth-wheel=185mm", "coupling=1146mm", h4 + "3.2"},
	{"axle-drop", "load=63.765kN spring-rate=700 tyre-sink=0mm", "drop=45.54642857mm", h4 + "3.2"},
	{"coupling-drop", "rear-drop=67.54642857mm front-drop=22.658mm lead=0.575m wheelbase=3.7m", "drop=60.57052413mm tail-down=0.695078739deg", h4 + "3.2"},
	{"trailer-tilt", "coupling-height=1.15m trailer-height=1.1m pin-to-bogie=7.7m body-height=2.85m front=1.6m rear=12m", "tilt=0.372045287deg front-top=4.010329307m rear-top=3.922019481m", h4 + "3.4"},
	{"trailer-tilt", "coupling-height=1.05m trailer-height=1.1m pin-to-bogie=7.7m body-height=2.85m front=1.6m rear=12m", "tilt=-0.372045287deg front-top=3.889550525m rear-top=3.977860351m", h4 + "3.4"},
	{"tyre-diameter", "size=315/70R22.5", "diameter=1012.5mm", h4 + "3.2"},
	{"tyre-diameter", "size=445/45R19.5", "diameter=895.8mm", h4 + "3.2"},
	{"combination-length", "front-overhang=1.375m wheelbase=3.7m lead=0.575m pin-to-rear=12m", "length=16.500m", h4 + "0, vehicle E"},
	{"shortest-lead", "limit=16.5m front-overhang=1.375m wheelbase=3.7m pin-to-rear=12m", "min=0.575m front-to-pin=4.50m", h4 + "0, vehicle E the other way round; " + h2 + "the front limit of 4.50 m"},

	{"bolt", "size=M16 grade=10.9 friction=0.12", "area=156.67mm2 proof=130kN~0.5 preload=118.931kN torque=301.56N.m", h6 + "A1.1, A1.3 (printed 130 000 N), A2.3 worked"},
	{"bolt", "size=M16x1.5 grade=10.9 friction=0.12", "preload=128.7kN~0.5% torque=320N.m~0.7%", "VDI 2230:2001, fine threads, as printed; " + h6 + "A2.2"},
	{"bolt", "size=M24x2 grade=8.8 friction=0.14", "preload=204kN~0.5% torque=865N.m~0.7%", "VDI 2230:2001, fine threads, as printed; " + h6 + "A2.2"},
	{"bolt", "size=M20 grade=8.8 friction=0.12", "proof=147kN~0.5 preload=130.5kN torque=414N.m", "EN ISO 898-1, proof loads (147 000 N); " + h6 + "A2.3"},
	{"torque-preload", "size=M16 grade=10.9 torque=280N.m friction=0.12", "preload=110.4kN use=0.90", h6 + "A2.5"},
	{"torque-preload", "size=M16 grade=10.9 torque=280N.m friction=0.16", "preload=85.5kN use=0.75", h6 + "A2.5"},
	{"torque-check", "size=M16 grade=10.9 torque=280N.m least-friction=0.10 most-friction=0.16", "preload-most=129.3kN preload-least=85.5kN use-most=1.01 highest=264N.m lowest=221.4N.m~0.3 plausible=false", h6 + "A2.3 (264, and 60 % of 369) and A2.5"},
	{"tightening-factor", "scatter=23%", "factor=1.60", h6 + "A2.4"},
	{"tightening-factor", "scatter=0.43", "factor=2.51", h6 + "A2.4"},
	{"least-preload", "largest=41.9kN factor=1.8", "preload=23.3kN", "\"Preload and tightening torques, VDI 2230 tables\" (2021); " + h6 + "A5-2"},
	{"slip-check", "bolts=1 preload=87.92kN friction=0.5 surfaces=1 force=17.584kN factor=1.25", "resistance=35.2kN use=0.5000", "published slip resistances of class 8.8, M16 single shear; " + h6 + "A5-3"},
	{"slip-check", "bolts=1 preload=87.92kN friction=0.2 surfaces=2 force=0kN factor=1.25", "resistance=28.1kN~0.06 use=0", "published slip resistances of class 8.8, M16 double shear; " + h6 + "A5-3"},
	{"slip-en1993", "size=M16 grade=8.8 friction=0.5 surfaces=1", "resistance=35.168kN", h6 + "A5-3; a published table prints 35.2"},
	{"slip-en1993", "size=M20 grade=10.9 friction=0.2 surfaces=1", "preload=172kN", "published preloads for EN 14399; " + h6 + "A4.3"},
	{"bolt-group", "bolt=x:75mm,y:60mm bolt=x:75mm,y:-60mm bolt=x:-75mm,y:60mm bolt=x:-75mm,y:-60mm force-y=16kN at-x=425mm", "shear=20.97kN tension=0kN", "Shigley, chapter 8, as remembered; " + h6 + "A5-4"},
	{"bolt-fatigue", "size=M16 load-factor=0.09600 upper=18.75kN lower=-18.75kN", "amplitude=11.49MPa endurance=46.2MPa", h6 + "A5-5 and A4.2"},
	{"mounting-check", bolts12 + " size=M16 d=150kN u=20t height=200mm preload=62.44kN load-factor=0.096 friction=0.15", "slip-dynamic=1.380 slip-full=0.749 stops-needed=true tension=31.250kN opens=false", h6 + "A5-5"},
	{"mounting-check", bolts12 + " size=M16 d=150kN u=20t height=200mm preload=62.44kN load-factor=0.096 friction=0.20", "slip-dynamic=1.840~0.001 slip-full=0.999 stops-needed=true", h6 + "A5-5"},

	{"pin-and-lock", "nominal=50.8mm measured=49.4mm play=2.6mm", "pin-wear=1.4mm lock-play=1.2mm", h5 + "10 row 28"},
	{"pin-and-lock", "nominal=50.8mm measured=49.5mm play=1.2mm", "pin-wear=1.3mm lock-play=-0.1mm", h5 + "10 row 29"},
	{"pin-tilt", "offset=1.5mm length=84mm", "angle=1.023deg", h5 + "10 row 19"},
	{"wear-two-sizes", "new=50.8mm now=50.2mm distance=180000km limit=49mm", "rate=0.333 distance=360000km~1", h5 + "8, two-point"},
	{"wear-line", "reading=0km:50.80mm reading=50000km:50.68mm reading=100000km:50.50mm reading=150000km:50.37mm reading=200000km:50.20mm limit=49.0mm confidence=95%",
		"rate=0.3020 nominal-distance=400000km~1 assured-distance=370400km~50", h5 + "8 and 10 row 53"},
	{"wear-forecast", strings.TrimSpace(prior), "wear=0mm rate=0.30 q05=409863.7km q50=600000.0km q95=1085315.5km", h6 + "B2, n = 0"},
	{"wear-forecast", "reading=200000km:0.85mm" + prior, "wear=0.7919953596mm rate=0.3742459397 q05=189496.7km q10=204538.5km q50=269342.8km q90=361285.4km q95=394823.2km", h6 + "B2, n = 1"},
	{"wear-forecast", "reading=200000km:0.85mm reading=350000km:1.35mm" + prior, "wear=1.3509297107mm rate=0.3736074377 q05=71218.0km q10=80830.7km q50=120198.4km q90=170808.9km q95=187886.8km", h6 + "B2, n = 2"},
	{"wear-forecast", "reading=200000km:0.85mm reading=350000km:1.35mm reading=400000km:1.42mm" + prior, "wear=1.4768535227mm q05=49377.0km q95=144987.1km", h6 + "B2, n = 3"},
}

// answer is the JSON as another program reads it.
type answer struct {
	Name    string
	Inputs  map[string]json.RawMessage
	Outputs map[string]struct {
		Value any
		Unit  string
	}
	Formula, Source, Working, Evidence string
	Notes                              []string
}

func ask(t *testing.T, calc, words string) answer {
	t.Helper()
	c, err := formula.Find(calc)
	if err != nil {
		t.Fatal(err)
	}
	args, result, err := c.Answer(strings.Split(words, " "))
	if err != nil {
		t.Fatal(err)
	}
	text, err := json.Marshal(formula.Answer{Args: args, Result: result})
	if err != nil {
		t.Fatal(err)
	}
	var a answer
	if err := json.Unmarshal(text, &a); err != nil {
		t.Fatalf("%v in %s", err, text)
	}
	return a
}

// scale brings what a source prints in its own unit into the unit of the answer.
var scale = map[[2]string]float64{
	{"lb", "kg"}: 0.45359237, {"ft", "m"}: 0.3048, {"in", "m"}: 0.0254, {"mm", "m"}: 1e-3, {"km", "m"}: 1e3,
}

func TestCheckValues(t *testing.T) {
	seen := map[string]bool{}
	for _, row := range checks {
		seen[row.calc] = true
		t.Run(row.calc, func(t *testing.T) {
			if row.source == "" {
				t.Error("a row without source")
			}
			a := ask(t, row.calc, row.words)
			for want := range strings.SplitSeq(row.want, " ") {
				name, value, _ := strings.Cut(want, "=")
				got, ok := a.Outputs[name]
				if !ok {
					t.Errorf("%s %s: no output %s in %v", row.calc, row.words, name, a.Outputs)
					continue
				}
				if why := differs(got.Value, got.Unit, value); why != "" {
					t.Errorf("%s %s\n%s: %s [%s]", row.calc, row.words, name, why, row.source)
				}
			}
		})
	}
	for _, c := range formula.All() {
		if !seen[c.Name] {
			t.Errorf("%s is held against nothing outside the project", c.Name)
		}
	}
}

// differs tells how an output differs from a printed value, or nothing.
func differs(got any, symbol, want string) string {
	switch x := got.(type) {
	case nil:
		if want != "null" {
			return "null, expected " + want
		}
	case bool:
		if strconv.FormatBool(x) != want {
			return fmt.Sprintf("%t, expected %s", x, want)
		}
	case string:
		if x != want {
			return fmt.Sprintf("%q, expected %q", x, want)
		}
	case float64:
		printed, tolerance, of, err := number(want)
		if err != nil {
			return err.Error()
		}
		k := 1.0
		if of != symbol {
			var known bool
			if k, known = scale[[2]string{of, symbol}]; !known {
				return fmt.Sprintf("in %q, expected %q", symbol, of)
			}
		}
		if diff := math.Abs(x - printed*k); !(diff <= tolerance*k*(1+1e-9)) {
			return fmt.Sprintf("%.12g %s, expected %s", x, symbol, want)
		}
	}
	return ""
}

// number reads "90.8126kN" or "128.7kN~0.5%" with its tolerance and unit.
func number(want string) (value, tolerance float64, symbol string, err error) {
	want, within, given := strings.Cut(want, "~")
	digits := strings.TrimLeft(want, "-0123456789.")
	text := strings.TrimSuffix(want, digits)
	if value, err = strconv.ParseFloat(text, 64); err != nil {
		return 0, 0, "", err
	}
	_, decimals, _ := strings.Cut(text, ".")
	tolerance = 0.5 * math.Pow10(-len(decimals))
	if given {
		share, isShare := strings.CutSuffix(within, "%")
		if tolerance, err = strconv.ParseFloat(share, 64); err != nil {
			return 0, 0, "", err
		}
		if isShare {
			tolerance *= math.Abs(value) / 100
		}
	}
	return value, tolerance, digits, nil
}

func TestDiffersCanFail(t *testing.T) {
	for _, row := range []struct {
		got          any
		symbol, want string
		fails        bool
	}{
		{90.8126, "kN", "90.8126kN", false}, {90.8127, "kN", "90.8126kN", true}, {90.8126, "N", "90.8126kN", true}, {math.NaN(), "kN", "90.8126kN", true},
		{1.0, "kg", "2.2lb", false}, {1.0, "kg", "2.3lb", true}, {nil, "", "null", false}, {nil, "", "3kg", true}, {3.0, "kg", "null", true},
		{true, "", "false", true}, {"a", "", "b", true}, {128.75, "kN", "128.7kN~0.5%", false}, {130.0, "kN", "128.7kN~0.5%", true},
	} {
		if why := differs(row.got, row.symbol, row.want); (why != "") != row.fails {
			t.Errorf("%v %s against %s: %q", row.got, row.symbol, row.want, why)
		}
	}
}
