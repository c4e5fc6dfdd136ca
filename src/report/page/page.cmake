# SPDX-License-Identifier: GPL-3.0-or-later
# The files that a page carries, made ready in the build folder: style, script and the content
# security policy, which lets in exactly these two by their hashes.
set(PAGE_SOURCE "${CMAKE_CURRENT_LIST_DIR}")
set(PAGE_BUILD "${PROJECT_BINARY_DIR}/page")

# The SHA-256 of a file in base64, as a policy names it; CMake itself gives hexadecimal digits.
function(page_hash file out)
  set(letters "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/")
  file(SHA256 "${file}" hex)
  string(APPEND hex "00") # 32 bytes and one more are 11 groups of three
  set(base64 "")
  foreach(at RANGE 0 60 6)
    string(SUBSTRING "${hex}" ${at} 6 digits)
    foreach(shift 18 12 6 0)
      math(EXPR index "(0x${digits} >> ${shift}) & 63")
      string(SUBSTRING "${letters}" ${index} 1 letter)
      string(APPEND base64 "${letter}")
    endforeach()
  endforeach()
  string(SUBSTRING "${base64}" 0 43 base64)
  set(${out} "'sha256-${base64}='" PARENT_SCOPE)
endfunction()

configure_file("${PAGE_SOURCE}/page.css" "${PAGE_BUILD}/page.css" COPYONLY)
file(CONFIGURE OUTPUT "${PAGE_BUILD}/page.js" CONTENT "" @ONLY)
page_hash("${PAGE_BUILD}/page.css" PAGE_STYLE_HASH)
file(CONFIGURE OUTPUT "${PAGE_BUILD}/policy.txt" @ONLY CONTENT
  "default-src 'none'; script-src 'none'; style-src @PAGE_STYLE_HASH@; img-src data:; base-uri 'none'; form-action 'none'")

set(PAGE_ASSETS "${PAGE_SOURCE}/assets.S")
set_source_files_properties("${PAGE_ASSETS}" PROPERTIES
  INCLUDE_DIRECTORIES "${PAGE_BUILD}"
  OBJECT_DEPENDS "${PAGE_BUILD}/page.css;${PAGE_BUILD}/page.js;${PAGE_BUILD}/policy.txt")
