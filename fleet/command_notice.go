package fleet

import (
	"fmt"
	"strings"

	"underpin/record"
)

// OpenNotice opens a safety notice: parts of a type within ranges of serial
// numbers must be found and seen to, to the last one.
type OpenNotice struct {
	Meta
	Details record.NoticeOpened
}

func (*OpenNotice) spec() (Permission, string) { return Design, "notice-opened" }

func (c *OpenNotice) plan(s *step) error {
	a, err := s.newAsset(record.NoticeAsset)
	if err != nil {
		return err
	}
	if err := s.useType(c.Details.Type, c.Details.Part); err != nil {
		return err
	}
	return s.enter(a, c.Details)
}

func (s *step) notice(where string, a record.Asset) (*record.Notice, error) {
	e, err := s.need(where, a, record.NoticeAsset)
	if err != nil {
		return nil, err
	}
	return e.Notice(record.Latest)
}

// ChangeNotice makes the notice's details what was typed, such as a range that
// was widened.
type ChangeNotice struct {
	Meta
	Asset   record.Asset
	Version string
	Details record.NoticeOpened
}

func (*ChangeNotice) spec() (Permission, string) { return Design, "notice-changed" }

func (c *ChangeNotice) plan(s *step) error {
	n, err := s.notice("asset", c.Asset)
	if err != nil {
		return err
	}
	if c.Details.Part != n.NoticeOpened.Part {
		return invalid(n.Title, "part", show(encoded(c.Details.Part)), n.NoticeOpened.Part+": what part it is about never changes; open another")
	}
	e, err := s.entity(c.Asset)
	if err != nil {
		return err
	}
	if err := s.useType(c.Details.Type, c.Details.Part); err != nil {
		return err
	}
	return s.change(e, c.Version, c.Details, func(c record.Changes) record.Body { return record.NoticeChanged{Changes: c} })
}

// ClosePart says that one part of a notice was seen to, and what was found and
// done.
type ClosePart struct {
	Meta
	Notice, Part record.Asset
	Done         string
}

func (*ClosePart) spec() (Permission, string) { return Fit, "notice-part-closed" }

func (c *ClosePart) plan(s *step) error {
	n, err := s.notice("notice", c.Notice)
	if err != nil {
		return err
	}
	p, err := s.part("part", c.Part)
	if err != nil {
		return err
	}
	if err := s.atPart(p); err != nil {
		return err
	}
	if match, _ := n.Match(p); match == record.Outside {
		return invalid(n.Title, "part", "a part that the notice is not about", "one that it concerns or may concern")
	}
	if w, seen := n.Seen[c.Part]; seen {
		return invalid(n.Title, "part", fmt.Sprintf("a part that %s saw to on %s", w.Who.Name, day(w.At)), "one that is still open; to change what was entered, correct it")
	}
	return s.enter(c.Notice, record.NoticePartClosed{Part: c.Part, Done: c.Done})
}

// CloseNotice ends a notice. It is refused while a part is open that the notice
// concerns, or may concern.
type CloseNotice struct {
	Meta
	Notice record.Asset
}

func (*CloseNotice) spec() (Permission, string) { return Design, "notice-closed" }

func (c *CloseNotice) plan(s *step) error {
	n, err := s.notice("notice", c.Notice)
	if err != nil {
		return err
	}
	if n.Closed != 0 {
		return invalid(n.Title, "notice", "a notice that was closed on "+day(n.Closed), "an open one")
	}
	parts, err := s.r.partsOf(s.ctx, n)
	if err != nil {
		return err
	}
	var open []string
	for i := range parts {
		if parts[i].Work == nil {
			open = append(open, parts[i].Part.title())
		}
	}
	if len(open) > 0 {
		named := strings.Join(open[:min(len(open), 5)], ", ")
		if len(open) > 5 {
			named += fmt.Sprintf(" and %d more", len(open)-5)
		}
		return invalid(n.Title, "notice", fmt.Sprintf("%d parts still open: %s", len(open), named), "each part seen to, to the last one")
	}
	return s.enter(c.Notice, record.NoticeClosed{})
}
