/* The fixed texts of the report page, byte for byte. The search path comes from CMake. */
#if defined(__APPLE__)
# error "written for ELF"
#endif

.macro embed name, file
    .global \name\()_begin
    .global \name\()_end
    .type \name\()_begin, %object
    .type \name\()_end, %object
\name\()_begin:
    .incbin "\file"
\name\()_end:
    .byte 0
.endm

    .section .rodata
    embed antiphase_charts, "charts.min.js"
    embed antiphase_script, "page.js"
    embed antiphase_style, "page.css"
    embed antiphase_licences, "LICENCES.txt"
    embed antiphase_live, "live.wasm"
    embed antiphase_live_licences, "LIVE_LICENCES.txt"

    .section .note.GNU-stack,"",%progbits
