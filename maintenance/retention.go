package maintenance

import (
	"slices"
	"strings"

	"underpin/rule"
	"underpin/unit"
	"underpin/wear"
)

// A Retention is how long a law wants a record kept.
type Retention struct {
	Key          string
	Country      string
	What         string // service: inspection and work; defect: a driver's report; periodic: the legal test; roadside
	Months       int    // from the day it was made
	AfterLeaving int    // months from the day the vehicle left the fleet; 0: does not count
	Evidence     rule.Evidence
	Source       string
}

var retentions = [...]Retention{
	{Key: "uk-service", Country: "uk", What: "service", Months: 15, Evidence: rule.Read, Source: "GOV.UK, Being a goods vehicle operator: maintaining your vehicles"},
	{Key: "uk-defect", Country: "uk", What: "defect", Months: 15, Evidence: rule.Memory, Source: "trade summaries of the roadworthiness guide, from memory"},
	{Key: "us-service", Country: "us", What: "service", Months: 12, AfterLeaving: 6, Evidence: rule.Read, Source: "49 CFR 396.3(c)"},
	{Key: "us-defect", Country: "us", What: "defect", Months: 3, Evidence: rule.Read, Source: "49 CFR 396.11"},
	{Key: "us-periodic", Country: "us", What: "periodic", Months: 14, Evidence: rule.Memory, Source: "49 CFR 396.21, from memory"},
	{Key: "us-roadside", Country: "us", What: "roadside", Months: 12, Evidence: rule.Memory, Source: "49 CFR 396.9, from memory"},
}

// A Keep says until when a record must be kept, and by which laws.
type Keep struct {
	Until Date        // the last day; the zero Date: no law that is known asks for it
	Open  bool        // it is still to be kept on the day asked
	By    []Retention // those that apply, longest first
}

// KeepUntil returns how long a record must be kept by the laws of the countries:
//
//	until = max over laws of  made + months,  and left + months after leaving
//
// Wear history is kept for the life of the part whatever a law says, for the
// forecast needs it; nothing in this program deletes a record.
//
// Valid for days of the calendar; otherwise the error is a *unit.DomainError.
// Left is the zero Date while the vehicle is in the fleet.
//
// Source: the laws of the table, each with its own; handbook chapter 05,
// section 7.
func KeepUntil(countries []string, what string, made, left, today Date) (Keep, error) {
	if !valid(made) || !valid(today) {
		return Keep{}, &unit.DomainError{Formula: "keeping of a record", Input: "day", Value: float64(made.Year), Want: "a day of the calendar"}
	}
	var k Keep
	last := func(r Retention) (Date, error) {
		d, err := wear.AddMonths(made, r.Months)
		if err != nil || r.AfterLeaving == 0 || left == (Date{}) {
			return d, err
		}
		l, err := wear.AddMonths(left, r.AfterLeaving)
		if err == nil && before(d, l) {
			d = l
		}
		return d, err
	}
	for _, r := range retentions {
		if r.What != what || !slices.ContainsFunc(countries, func(c string) bool { return c == r.Country || strings.HasPrefix(c, r.Country+"-") }) {
			continue
		}
		d, err := last(r)
		if err != nil {
			return Keep{}, err
		}
		if before(k.Until, d) {
			k.Until = d
			k.By = append([]Retention{r}, k.By...)
		} else {
			k.By = append(k.By, r)
		}
	}
	k.Open = k.Until != (Date{}) && !before(k.Until, today)
	return k, nil
}
