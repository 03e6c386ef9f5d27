package cli

import (
	"embed"
	"fmt"
	"strings"
)

// Completion of what is typed at a shell:
//
//	shell ─▶ its script (completion/) ─▶ shop complete ARG … ─▶ suggester: the words of the command line
//	                                                              └─▶ finder: what the running shop has
//
// Each suggestion is a line: the word, and behind a tab what it is. None, and the shell offers files.

//go:embed completion/shop.bash completion/shop.zsh completion/shop.fish
var completionScripts embed.FS

type completionCmd struct {
	Shell string `arg:"" help:"bash, zsh or fish." enum:"bash,zsh,fish"`
}

// Help implements kong.HelpProvider.
func (completionCmd) Help() string {
	return "It completes commands, flags and their words, and from the running shop piece tags, people and the stages of a piece. " +
		"For this session: source <(shop completion bash), or shop completion fish | source. For all: " +
		"shop completion bash > ~/.local/share/bash-completion/completions/shop; shop completion zsh > a folder of $fpath, as _shop; " +
		"shop completion fish > ~/.config/fish/completions/shop.fish."
}

// Run prints the script.
func (c *completionCmd) Run(e *env) error {
	script, err := completionScripts.ReadFile("completion/shop." + c.Shell)
	if err != nil {
		return err
	}
	_, err = e.out.Write(script)
	return err
}

// completeCmd is what the scripts ask.
type completeCmd struct {
	Line  bool     `help:"The one word is a line as it was typed, quotes and all, up to where it is completed."`
	Words []string `arg:"" optional:"" passthrough:"" help:"The words behind the command's name; the last is completed."`
}

// Run prints what the last word could become. Whatever goes wrong, there is nothing to say: somebody is in
// the middle of typing.
func (c *completeCmd) Run(e *env) error {
	words, open := c.Words, rune(0)
	if len(words) > 0 && words[0] == "--" {
		words = words[1:]
	}
	if c.Line {
		words, open = splitLine(strings.Join(words, " "))
	}
	for _, s := range suggest(e, words) {
		word := s.word
		if c.Line {
			word = requoted(word, words[len(words)-1], open)
		}
		if s.says != "" {
			word += "\t" + s.says
		}
		fmt.Fprintln(e.out, word)
	}
	return nil
}
