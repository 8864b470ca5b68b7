# The job's own words, behind what was made above.
_curewright_own() {
    _curewright "$@"
    local word
    while IFS= read -r word; do
        case $2 in
        [\"\']*) COMPREPLY+=("$word") ;;
        *) COMPREPLY+=("$(printf %q "$word")") ;;
        esac
    done < <("${COMP_WORDS[0]}" complete -- "${COMP_WORDS[@]:1:COMP_CWORD}" 2>/dev/null | cut -f1)
}
complete -F _curewright_own -o nosort -o bashdefault -o default curewright 2>/dev/null ||
    complete -F _curewright_own -o bashdefault -o default curewright
