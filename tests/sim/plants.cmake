# Plants the mistakes of plants.txt.
#
#   include(plants.cmake)       in a CMakeLists.txt: nightferry_plants(FILE NAMES) lists their names, and sets
#                               NAME_file for each.
#   cmake -DPLANT=name -DPLANTS=plants.txt -DROOT=sources -DOUT=copy.cpp -P plants.cmake
#                               writes the copy with the mistake; fails unless the text is there exactly once.
#
# Everything is done by positions in strings: a CMake list would fall apart at the semicolons of C++.
cmake_minimum_required(VERSION 3.25)

# The text between `from` and the next `to`; fails when either is missing.
function(text_between text from to result)
    string(FIND "${text}" "${from}" begin)
    if(begin LESS 0)
        message(FATAL_ERROR "${PLANTS}: '${from}' is missing")
    endif()
    string(LENGTH "${from}" length)
    math(EXPR begin "${begin} + ${length}")
    string(SUBSTRING "${text}" ${begin} -1 rest)
    string(FIND "${rest}" "${to}" end)
    if(end LESS 0)
        message(FATAL_ERROR "${PLANTS}: '${to}' is missing after '${from}'")
    endif()
    string(SUBSTRING "${rest}" 0 ${end} found)
    set(${result} "${found}" PARENT_SCOPE)
endfunction()

function(nightferry_plants plants names)
    set(PLANTS "${plants}")
    set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS "${plants}")
    file(READ "${plants}" text)
    file(STRINGS "${plants}" found REGEX "^plant [a-z_]+$")
    list(TRANSFORM found REPLACE "^plant " "")
    set(${names} "${found}" PARENT_SCOPE)
    foreach(name IN LISTS found)
        text_between("${text}" "\nplant ${name}\n" "\nend\n" block)
        text_between("${block}" "\nfile " "\n" file)
        set(${name}_file "${file}" PARENT_SCOPE)
    endforeach()
endfunction()

if(NOT CMAKE_SCRIPT_MODE_FILE)
    return()
endif()

file(READ "${PLANTS}" text)
text_between("${text}" "\nplant ${PLANT}\n" "\nend\n" block)
string(APPEND block "\n")
text_between("${block}" "\nfile " "\n" path)
text_between("${block}" "\nreplace\n" "\nwith\n" wrong)
string(FIND "${block}" "\nwith\n" with)
math(EXPR with "${with} + 6")
string(SUBSTRING "${block}" ${with} -1 mistake)
string(REGEX REPLACE "\n$" "" mistake "${mistake}")

file(READ "${ROOT}/${path}" source)
string(FIND "${source}" "${wrong}" first)
string(FIND "${source}" "${wrong}" last REVERSE)
if(first LESS 0)
    message(FATAL_ERROR "plant ${PLANT}: ${path} no longer holds this text:\n${wrong}")
endif()
if(NOT first EQUAL last)
    message(FATAL_ERROR "plant ${PLANT}: ${path} holds this text more than once:\n${wrong}")
endif()
string(LENGTH "${wrong}" length)
math(EXPR after "${first} + ${length}")
string(SUBSTRING "${source}" 0 ${first} before)
string(SUBSTRING "${source}" ${after} -1 rest)
file(WRITE "${OUT}" "${before}${mistake}${rest}")
