package exchange

import (
	"bytes"

	"github.com/xuri/excelize/v2"
)

// Workbook writes the matrix as a spreadsheet workbook: one sheet, one pair a
// row, the units in the heads.
func (m MatrixAnswer) Workbook() ([]byte, error) {
	f := excelize.NewFile()
	defer f.Close()
	const sheet = "Matrix"
	if err := f.SetSheetName("Sheet1", sheet); err != nil {
		return nil, err
	}
	rows := [][]any{{"Law", "Tractor", "Semi-trailer", "Answer", "What decides", "Margin", "Unit", "Lead, mm", "Behind front axle, mm", "Lawful from, mm", "Lawful to, mm"}}
	for _, p := range m.Pairs {
		row := []any{m.Law, p.Tractor, p.Trailer, p.Answer, p.Title, nil, p.Unit, nil, nil, nil, nil}
		if p.Margin != nil {
			row[5] = *p.Margin
		}
		if p.Setting.Lead != nil {
			row[7] = *p.Setting.Lead
		}
		if p.Setting.At != nil {
			row[8] = *p.Setting.At
		}
		if p.SliderRange != nil {
			row[9], row[10] = p.SliderRange[0], p.SliderRange[1]
		}
		rows = append(rows, row)
	}
	for i, row := range rows {
		cell, err := excelize.CoordinatesToCellName(1, i+1)
		if err != nil {
			return nil, err
		}
		if err := f.SetSheetRow(sheet, cell, &row); err != nil {
			return nil, err
		}
	}
	bold, err := f.NewStyle(&excelize.Style{Font: &excelize.Font{Bold: true}})
	if err != nil {
		return nil, err
	}
	if err := f.SetCellStyle(sheet, "A1", "K1", bold); err != nil {
		return nil, err
	}
	if err := f.SetColWidth(sheet, "A", "K", 18); err != nil {
		return nil, err
	}
	if err := f.SetPanes(sheet, &excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"}); err != nil {
		return nil, err
	}
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}
