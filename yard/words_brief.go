package yard

var briefWords, talkWords []row
