# SPDX-License-Identifier: GPL-3.0-or-later
# The files that pages carry, made ready in the build folder: for each page style, script and the
# content security policy, which lets in exactly these two by their hashes. Styles are base.css and the
# page's own. A review's script is the plotting library, which npm brings, and our parts in a scope of
# their own; without npm that page keeps the plots that the program draws. The fleet's and the class's scripts are their own
# alone; a student's page has none.
set(PLATELAG_LIVE_PLOTS AUTO CACHE STRING "plots that can be zoomed: ON, OFF, or AUTO: where npm brings the library")
set(PLATELAG_NODE_MODULES "" CACHE PATH "a node_modules folder with uplot (and axe-core for the tests); empty: npm brings one")
set(PAGE_SOURCE "${PROJECT_SOURCE_DIR}/src/report/page")
set(PAGE_FLEET "${PROJECT_SOURCE_DIR}/src/fleet/page")
set(PAGE_MARK "${PROJECT_SOURCE_DIR}/src/mark/page")
set(PAGE_BASE "${CMAKE_CURRENT_LIST_DIR}/base.css")
set(PAGE_ASSETS "${CMAKE_CURRENT_LIST_DIR}/assets.S")
set(PAGE_BUILD "${PROJECT_BINARY_DIR}/page")
set(PAGE_PARTS readings looks pointer loop recording page) # of a review's script, in this order
foreach(part ${PAGE_PARTS})
  set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS "${PAGE_SOURCE}/${part}.js")
endforeach()
set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS "${PAGE_BASE}" "${PAGE_SOURCE}/page.css"
             "${PAGE_SOURCE}/package-lock.json" "${PAGE_FLEET}/fleet.css" "${PAGE_FLEET}/fleet.js" "${PAGE_FLEET}/plots.js")
set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS "${PAGE_MARK}/mark.css" "${PAGE_MARK}/class.css"
             "${PAGE_MARK}/class.js" "${PAGE_MARK}/student.css")

include("${PROJECT_SOURCE_DIR}/src/core/page/page_hash.cmake")

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

# Writes NAME.css, NAME.js and NAME_policy.txt. `images`: what the policy says of them.
function(page_make name style script images)
  foreach(part style script)
    if("${${part}}" MATCHES "</[sS]")
      message(FATAL_ERROR "The ${part} of ${name} holds what ends its element")
    endif()
  endforeach()
  page_write(${name}.css "${style}")
  page_write(${name}.js "${script}")
  page_hash("${PAGE_BUILD}/${name}.css" style_hash)
  set(script_hash "'none'")
  if(script)
    page_hash("${PAGE_BUILD}/${name}.js" script_hash)
  endif()
  page_write(${name}_policy.txt "default-src 'none'; script-src ${script_hash}; style-src ${style_hash}; ${images}base-uri 'none'; form-action 'none'")
endfunction()

file(READ "${PAGE_BASE}" base)
file(READ "${PAGE_SOURCE}/page.css" style)
string(PREPEND style "${base}")
set(script "")
set(PAGE_MODULES "")
if(PLATELAG_LIVE_PLOTS)
  page_modules(PAGE_MODULES)
endif()
if(EXISTS "${PAGE_MODULES}/uplot/dist/uPlot.iife.min.js")
  file(READ "${PAGE_MODULES}/uplot/LICENSE" license)
  file(READ "${PAGE_MODULES}/uplot/dist/uPlot.iife.min.js" library)
  file(READ "${PAGE_MODULES}/uplot/dist/uPlot.min.css" library_style)
  foreach(part ${PAGE_PARTS})
    file(READ "${PAGE_SOURCE}/${part}.js" text)
    string(APPEND script "${text}")
  endforeach()
  set(script "(() => {\n\"use strict\";\n${script}})();\n")
  string(PREPEND script "/*\n" "${license}" "*/\n" "${library}" "\n")
  string(APPEND style "${library_style}")
elseif(PLATELAG_LIVE_PLOTS STREQUAL "ON")
  message(FATAL_ERROR "PLATELAG_LIVE_PLOTS=ON needs npm, or PLATELAG_NODE_MODULES with uplot in it")
else()
  message(STATUS "The page has the plots that the program draws alone (no npm, no PLATELAG_NODE_MODULES)")
endif()
page_make(page "${style}" "${script}" "img-src data:; ")

file(READ "${PAGE_FLEET}/fleet.css" style)
file(READ "${PAGE_FLEET}/plots.js" plots)
file(READ "${PAGE_FLEET}/fleet.js" script)
page_make(fleet "${base}${style}" "${plots}${script}" "")

file(READ "${PAGE_MARK}/mark.css" mark_style)
file(READ "${PAGE_MARK}/class.css" style)
file(READ "${PAGE_MARK}/class.js" script)
page_make(class "${base}${mark_style}${style}" "${script}" "")
file(READ "${PAGE_MARK}/student.css" style)
page_make(student "${base}${mark_style}${style}" "" "")

set(depends "")
foreach(name page fleet class student)
  list(APPEND depends "${PAGE_BUILD}/${name}.css" "${PAGE_BUILD}/${name}.js" "${PAGE_BUILD}/${name}_policy.txt")
endforeach()
set_source_files_properties("${PAGE_ASSETS}" PROPERTIES
  INCLUDE_DIRECTORIES "${PAGE_BUILD}" OBJECT_DEPENDS "${depends}")
