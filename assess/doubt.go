package assess

// doubts tells where the weighbridge disagrees with what the answer rests on.
func (p *Pairing) doubts() []string {
	out := p.Tractor.Doubts()
	for i := range p.Cases {
		out = append(out, p.Cases[i].Doubts...)
	}
	return out
}
