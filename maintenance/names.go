package maintenance

// named are the words for the values that stand as short strings in results, in
// the order in which lists show them.
var named = map[string][]Text{
	"half":  {{"half.tractor", "tractor alone"}, {"half.trailer", "trailer alone"}, {"half.pair", "coupled pair"}},
	"point": {{"point.plate", "top plate"}, {"point.lock", "lock"}, {"point.pin", "kingpin"}, {"point.bearing", "pedestal pivots"}, {"point.slider", "slider"}, {"point.film", "rubbing plate"}},
	"lubrication": {{"lubrication.manual", "greased by hand"}, {"lubrication.liner", "low-maintenance liner"},
		{"lubrication.central", "central lubrication"}, {"lubrication.cartridge", "automatic cartridge"}},
	"layer":   {{"layer.law", "law"}, {"layer.standard", "standard"}, {"layer.maker", "maker"}},
	"fails":   {{"fails.at or below", "replace at or below"}, {"fails.below", "not below"}, {"fails.at or above", "not as much as"}, {"fails.above", "not more than"}},
	"governs": {{"governs.distance", "the distance"}, {"governs.date", "the date"}, {"governs.wear", "the forecast of wear"}},
	"weight":  {{"weight.hard-stop", "never drive"}, {"weight.worn", "renew before use"}, {"weight.mend", "repair"}, {"weight.note", "note"}},
	"subject": {{"subject.tractor", "tractor"}, {"subject.trailer", "trailer"}, {"subject.pair", "tractor and trailer"}},
	"release": {{"release.manual", "by hand"}, {"release.one-handed", "by one hand"}, {"release.air", "by air"}, {"release.remote", "from the cab, with display"}},
	"life":    {{"life.goes on", "nothing renewed"}, {"life.starts", "a new life begins"}, {"life.adjusted", "adjusted: its life goes on"}},
	"holds": {{"holds.not measured", "not measured"}, {"holds.no limit known", "no limit known"}, {"holds.within, on common practice alone", "within, on common practice alone"},
		{"holds.within", "within"}, {"holds.within, near its limit", "within, near its limit"}, {"holds.limit reached", "limit reached"}},
	"approach": {{"approach.cannot tell", "cannot tell"}, {"approach.too low", "too low: raise the trailer or lower the tractor"},
		{"approach.right", "right"}, {"approach.too high", "too high: do not reverse in, the pin may come to lie on the jaws"}},
}

// text finds the words for a value of a kind.
func text(kind, value string) Text {
	key := kind + "." + value
	for _, t := range named[kind] {
		if t.Key == key {
			return t
		}
	}
	return Text{key, value}
}

// Text is the value in words.
func (h Half) Text() Text        { return text("half", string(h)) }
func (p Point) Text() Text       { return text("point", string(p)) }
func (l Lubrication) Text() Text { return text("lubrication", string(l)) }
func (l Layer) Text() Text       { return text("layer", string(l)) }
func (f Fails) Text() Text       { return text("fails", string(f)) }
func (g Governs) Text() Text     { return text("governs", string(g)) }
func (w Weight) Text() Text      { return text("weight", string(w)) }
func (s Subject) Text() Text     { return text("subject", string(s)) }
func (r Release) Text() Text     { return text("release", string(r)) }
func (l LifeRule) Text() Text    { return text("life", string(l)) }
func (h Holds) Text() Text       { return text("holds", string(h)) }
func (a Approach) Text() Text    { return text("approach", string(a)) }
