# SPDX-License-Identifier: GPL-3.0-or-later
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
