package report_test

import (
	"bytes"
	"strings"
	"testing"

	"underpin/report"
)

// TestCertificate: a certificate is a PDF whatever is long or missing in it.
func TestCertificate(t *testing.T) {
	long := strings.Repeat("a long reason with many words ", 30)
	full := report.Certificate{Vehicle: "Marsh 23", Number: "marsh-23", Verdict: "serviceable", On: "25 Nov 2026", By: "Ann Müller", Reasons: []string{long}, Missing: []string{long}, Sheets: []string{"trailer alone, measured by Ida"},
		Code: "01a-0367ce03e2d37cef", Digest: strings.Repeat("ab", 32), Chain: "vehicle/x, record 7 of 9", Check: "http://127.0.0.1/certificate"}
	for range 60 {
		full.Rows = append(full.Rows, report.CertificateRow{Name: "Neck of the pin", Value: "50.10 mm", Holds: "within", Limits: []string{"maker: replace at or below 49 mm. Invented instructions 7; read in the document", long}})
	}
	for name, c := range map[string]report.Certificate{"empty": {}, "full": full} {
		data, err := c.PDF()
		if err != nil || !bytes.HasPrefix(data, []byte("%PDF-")) {
			t.Errorf("%s: %v", name, err)
		}
		if again, _ := c.PDF(); !bytes.Equal(data, again) {
			t.Errorf("%s: twice the same is not the same", name)
		}
	}
	if pages := bytes.Count(mustPDF(t, full), []byte("/Type /Page\n")); pages < 2 {
		t.Errorf("sixty measures stand on %d pages", pages)
	}
}

func mustPDF(t *testing.T, c report.Certificate) []byte {
	t.Helper()
	data, err := c.PDF()
	if err != nil {
		t.Fatal(err)
	}
	return data
}
