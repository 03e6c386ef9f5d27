# bash completion of shop: source <(shop completion bash)
_shop() {
    local IFS=$'\n' line
    COMPREPLY=()
    while IFS= read -r line; do
        COMPREPLY+=("${line%%$'\t'*}")
    done < <("${COMP_WORDS[0]}" complete --line -- "${COMP_LINE:0:COMP_POINT}" 2>/dev/null)
}
complete -o default -F _shop shop
