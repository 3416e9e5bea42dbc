package encoded_test

import (
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo/format/encoded"
)

func TestUTF16(t *testing.T) {
	for _, c := range []struct{ name, in, want string }{
		{"little with mark", "\xFF\xFEN\x00\xF6\x00", "Nö"},
		{"big with mark", "\xFE\xFF\x00N\x00\xF6", "Nö"},
		{"little without", "N\x00\xF6\x00", "Nö"},
		{"big without", "\x00N\x00\xF6", "Nö"},
		{"pair of halves", "\xFF\xFE\x3C\xD8\x31\xDF", "🌱"},
		{"half without its partner", "\xFF\xFE\x3C\xD8N\x00", "\uFFFDN"},
		{"cut within a character", "\xFF\xFEN\x00\xF6", "N\uFFFD"},
	} {
		t.Run(c.name, func(t *testing.T) {
			little, ok := encoded.IsUTF16([]byte(c.in))
			require.True(t, ok)
			got, err := io.ReadAll(encoded.UTF16(strings.NewReader(c.in), little))
			require.NoError(t, err)
			assert.Equal(t, c.want, string(got))
		})
	}
	for _, no := range []string{"", "N", "Nord", "\x00\x00\x27\x0A", "{\n"} {
		_, ok := encoded.IsUTF16([]byte(no))
		assert.False(t, ok, "%q", no)
	}
}

func TestText(t *testing.T) {
	s, guessed := encoded.Text([]byte("Nöß"))
	assert.Equal(t, "Nöß", s)
	assert.False(t, guessed)
	s, guessed = encoded.Text([]byte("N\xF6\xDF \x80\x9C"))
	assert.Equal(t, "Nöß €œ", s)
	assert.True(t, guessed)
}
