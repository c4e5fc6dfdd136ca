# SPDX-License-Identifier: GPL-3.0-or-later
# The files that a page carries, made ready in the build folder: style, script and the content
# security policy, which lets in exactly these two by their hashes. The script is the plotting
# library, which npm brings, and page.js; without npm the page keeps the plots that the program draws.
set(PLATELAG_LIVE_PLOTS AUTO CACHE STRING "plots that can be zoomed: ON, OFF, or AUTO: where npm brings the library")
set(PLATELAG_NODE_MODULES "" CACHE PATH "a node_modules folder with uplot (and axe-core for the tests); empty: npm brings one")
set(PAGE_SOURCE "${CMAKE_CURRENT_LIST_DIR}")
set(PAGE_BUILD "${PROJECT_BINARY_DIR}/page")
set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS "${PAGE_SOURCE}/page.css"
             "${PAGE_SOURCE}/page.js" "${PAGE_SOURCE}/package-lock.json")

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

# Writes a file unless it holds the same already, so that nothing is built again for it.
function(page_write name content)
  file(WRITE "${PAGE_BUILD}/${name}.new" "${content}")
  file(COPY_FILE "${PAGE_BUILD}/${name}.new" "${PAGE_BUILD}/${name}" ONLY_IF_DIFFERENT)
  file(REMOVE "${PAGE_BUILD}/${name}.new")
endfunction()

# The folder with the packages of package-lock.json, fetched once for each state of it; empty where
# they are not to be had.
function(page_modules out)
  set(${out} "${PLATELAG_NODE_MODULES}" PARENT_SCOPE)
  find_program(PLATELAG_NPM npm)
  if(PLATELAG_NODE_MODULES OR NOT PLATELAG_NPM)
    return()
  endif()
  set(folder "${PROJECT_BINARY_DIR}/npm")
  file(SHA256 "${PAGE_SOURCE}/package-lock.json" wanted)
  string(APPEND wanted " tests: ${PLATELAG_TESTS}")
  set(there "")
  if(EXISTS "${folder}/there")
    file(READ "${folder}/there" there)
  endif()
  if(NOT there STREQUAL wanted)
    file(COPY "${PAGE_SOURCE}/package.json" "${PAGE_SOURCE}/package-lock.json"
         "${PROJECT_SOURCE_DIR}/.npmrc" DESTINATION "${folder}")
    set(omit --omit=dev)
    if(PLATELAG_TESTS)
      set(omit "")
    endif()
    execute_process(COMMAND "${PLATELAG_NPM}" ci --ignore-scripts --prefer-offline ${omit}
                    WORKING_DIRECTORY "${folder}" TIMEOUT 300 RESULT_VARIABLE failed
                    OUTPUT_QUIET ERROR_VARIABLE trouble)
    if(failed)
      message(STATUS "npm could not bring the plotting library: ${trouble}")
      set(${out} "" PARENT_SCOPE)
      return()
    endif()
    file(WRITE "${folder}/there" "${wanted}")
  endif()
  set(${out} "${folder}/node_modules" PARENT_SCOPE)
endfunction()

file(READ "${PAGE_SOURCE}/page.css" PAGE_STYLE)
set(PAGE_SCRIPT "")
set(PAGE_MODULES "")
if(PLATELAG_LIVE_PLOTS)
  page_modules(PAGE_MODULES)
endif()
if(EXISTS "${PAGE_MODULES}/uplot/dist/uPlot.iife.min.js")
  file(READ "${PAGE_MODULES}/uplot/LICENSE" license)
  file(READ "${PAGE_MODULES}/uplot/dist/uPlot.iife.min.js" library)
  file(READ "${PAGE_MODULES}/uplot/dist/uPlot.min.css" library_style)
  file(READ "${PAGE_SOURCE}/page.js" script)
  string(CONCAT PAGE_SCRIPT "/*\n" "${license}" "*/\n" "${library}" "\n" "${script}")
  string(APPEND PAGE_STYLE "${library_style}")
elseif(PLATELAG_LIVE_PLOTS STREQUAL "ON")
  message(FATAL_ERROR "PLATELAG_LIVE_PLOTS=ON needs npm, or PLATELAG_NODE_MODULES with uplot in it")
else()
  message(STATUS "The page has the plots that the program draws alone (no npm, no PLATELAG_NODE_MODULES)")
endif()
foreach(part PAGE_STYLE PAGE_SCRIPT)
  if("${${part}}" MATCHES "</[sS]")
    message(FATAL_ERROR "${part} holds what ends its element")
  endif()
endforeach()

page_write(page.css "${PAGE_STYLE}")
page_write(page.js "${PAGE_SCRIPT}")
page_hash("${PAGE_BUILD}/page.css" PAGE_STYLE_HASH)
set(PAGE_SCRIPT_HASH "'none'")
if(PAGE_SCRIPT)
  page_hash("${PAGE_BUILD}/page.js" PAGE_SCRIPT_HASH)
endif()
page_write(policy.txt "default-src 'none'; script-src ${PAGE_SCRIPT_HASH}; style-src ${PAGE_STYLE_HASH}; img-src data:; base-uri 'none'; form-action 'none'")

set(PAGE_ASSETS "${PAGE_SOURCE}/assets.S")
set_source_files_properties("${PAGE_ASSETS}" PROPERTIES
  INCLUDE_DIRECTORIES "${PAGE_BUILD}"
  OBJECT_DEPENDS "${PAGE_BUILD}/page.css;${PAGE_BUILD}/page.js;${PAGE_BUILD}/policy.txt")
