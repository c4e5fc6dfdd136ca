# SPDX-License-Identifier: GPL-3.0-or-later
# The engine: the library's objects less those that meet files, threads, databases or compressed bytes.
set(ENGINE_ROOMS core read line_up model judge review report)
set(ENGINE_LEFT_OUT core/ini.c core/table.c core/table_visit.c core/sheet.c core/spreadsheet.c core/late.c read/source.c read/capture_file.c read/spec_file.c
    read/decompress.c)
set(ENGINE_SOURCES "")
foreach(room ${ENGINE_ROOMS})
  file(GLOB sources CONFIGURE_DEPENDS "${PROJECT_SOURCE_DIR}/src/${room}/*.c")
  list(APPEND ENGINE_SOURCES ${sources})
endforeach()
set(ENGINE_LEFT_OUT_NAMES "")
foreach(file ${ENGINE_LEFT_OUT})
  list(REMOVE_ITEM ENGINE_SOURCES "${PROJECT_SOURCE_DIR}/src/${file}")
  string(REPLACE "." "[.]" file "${file}")
  list(APPEND ENGINE_LEFT_OUT_NAMES "${file}")
endforeach()
set(ENGINE_OWN "${PROJECT_SOURCE_DIR}/src/drop/no_files.c" "${PROJECT_SOURCE_DIR}/src/drop/no_decompression.c")
list(JOIN ENGINE_SOURCES "\n" lines)
list(JOIN ENGINE_OWN "\n" own_lines)
file(WRITE "${PROJECT_BINARY_DIR}/engine_sources.txt" "${lines}\n${own_lines}\n") # for scripts/build-drop

list(JOIN ENGINE_LEFT_OUT_NAMES "|" left_out)
list(JOIN ENGINE_ROOMS "|" rooms)
set(objects "$<TARGET_OBJECTS:platelag_objects>")
set(objects "$<FILTER:${objects},INCLUDE,/src/(${rooms})/>")
set(objects "$<FILTER:${objects},EXCLUDE,/src/(${left_out})[.]o>")
add_library(platelag_engine STATIC EXCLUDE_FROM_ALL ${ENGINE_OWN} ${objects})
target_include_directories(platelag_engine PRIVATE "${PROJECT_SOURCE_DIR}/src" PUBLIC "${PROJECT_SOURCE_DIR}/include")
target_link_libraries(platelag_engine PRIVATE platelag_flags PUBLIC PkgConfig::GSL PkgConfig::JANSSON ${CSV_LIBRARY} m)
