# The job's own words, where there are any.
function __curewright_own
    curewright complete -- (commandline -opc)[2..-1] (commandline -ct) 2>/dev/null
end
complete -c curewright -n 'string length -q -- (__curewright_own | string collect)' -f -a '(__curewright_own)'
