package text

import (
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

func readTestdata(t testing.TB, name string) []byte {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("testdata", filepath.FromSlash(name)))
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// fromHex reads code points as the Unicode files write them: "0061 0308".
func fromHex(t testing.TB, s string) string {
	t.Helper()
	var runes []rune
	for _, h := range strings.Fields(s) {
		v, err := strconv.ParseInt(h, 16, 32)
		if err != nil {
			t.Fatal(err)
		}
		runes = append(runes, rune(v))
	}
	return string(runes)
}
