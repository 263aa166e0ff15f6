package maintenance_test

import (
	"os"
	"regexp"
	"testing"

	"underpin/maintenance"
)

// TestDocumentNamesWhatThereIs looks up each name that the document gives to
// dimensions and tasks.
func TestDocumentNamesWhatThereIs(t *testing.T) {
	text, err := os.ReadFile("../doc/maintenance.md")
	if err != nil {
		t.Fatal(err)
	}
	plays := map[string]bool{"play-base": true, "play-least": true, "play-adjust": true, "play-most": true, "play-uncertainty": true, "lock-wear": true}
	other := map[string]bool{"maintenance": true, "wear": true}
	found := 0
	for _, m := range regexp.MustCompile("`([a-z-]+)`").FindAllStringSubmatch(string(text), -1) {
		found++
		_, measure := maintenance.FindMeasure(m[1])
		_, task := maintenance.FindTask(m[1])
		_, lubrication := maintenance.LubricationOf(m[1])
		if !measure && !task && !lubrication && !plays[m[1]] && !other[m[1]] {
			t.Errorf("%s is nothing that the program knows", m[1])
		}
	}
	if found < 30 {
		t.Errorf("looked up %d names", found)
	}
	for _, task := range maintenance.Tasks() {
		if task.Key == maintenance.FirstGrease || task.Key == maintenance.AfterEvent {
			continue
		}
		if !regexp.MustCompile("`" + task.Key + "`").Match(text) {
			t.Errorf("the document does not name the task %s", task.Key)
		}
	}
}
