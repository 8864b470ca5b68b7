# The job's own words, in the place of any word.
_curewright_own() {
    local -a typed found shown
    local line
    typed=("${(@Q)${(z)LBUFFER}}")
    [[ $LBUFFER == *[[:space:]] ]] && typed+=("")
    found=(${(f)"$(curewright complete -- "${(@)typed[$((typed[(I)*curewright] + 1)),-1]}" 2>/dev/null)"})
    if (( ! ${#found} )); then
        _default
        return
    fi
    for line in $found; do
        shown+=("${${line%%$'\t'*}//:/\\:}:${line#*$'\t'}")
    done
    _describe -V 'of the job' shown
}
