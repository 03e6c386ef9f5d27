#compdef shop
# zsh completion of shop: source <(shop completion zsh)
_shop() {
    local -a found shown
    local word says
    while IFS=$'\t' read -r word says; do
        found+=("$word")
        shown+=("$word${says:+  -- $says}")
    done < <("${words[1]}" complete -- "${(@Q)words[2,CURRENT]}" 2>/dev/null)
    if (( $#found )); then
        compadd -l -d shown -a found
    else
        _files
    fi
}
if [ "${funcstack[1]}" = "_shop" ]; then
    _shop "$@"
else
    compdef _shop shop
fi
