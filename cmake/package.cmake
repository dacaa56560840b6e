# What a package holds besides the program, and how cpack -G DEB makes it.

# gzipped(FILE OUTPUT): without the time, so that the same file gives the same bytes.
function(gzipped file output)
  add_custom_command(OUTPUT ${output} DEPENDS ${file} VERBATIM
    COMMAND sh -c "gzip -9nc '${file}' > '${output}'")
endfunction()

set(packed ${PROJECT_BINARY_DIR}/packed)
file(MAKE_DIRECTORY ${packed})
add_custom_command(OUTPUT ${packed}/man.made DEPENDS evenbevel_cli VERBATIM
  COMMAND ${CMAKE_COMMAND} -E rm -rf ${packed}/man1
  COMMAND evenbevel_cli man-pages ${packed}/man1
  COMMAND sh -c "gzip -9n '${packed}'/man1/*"
  COMMAND ${CMAKE_COMMAND} -E touch ${packed}/man.made)
gzipped(${PROJECT_SOURCE_DIR}/cmake/package/changelog ${packed}/changelog.gz)
add_custom_target(evenbevel_packed ALL DEPENDS ${packed}/man.made ${packed}/changelog.gz)

install(DIRECTORY ${packed}/man1 DESTINATION ${CMAKE_INSTALL_MANDIR} COMPONENT program)
install(FILES cmake/package/copyright ${packed}/changelog.gz DESTINATION ${CMAKE_INSTALL_DOCDIR} COMPONENT program)
install(FILES calibration/edge-a4.pdf calibration/edge-letter.pdf calibration/heel-a4.pdf calibration/heel-letter.pdf
              calibration/lens-a4.pdf calibration/lens-letter.pdf calibration/practice-a4.pdf
              calibration/practice-letter.pdf calibration/side-a4.pdf calibration/side-letter.pdf
  DESTINATION ${CMAKE_INSTALL_DOCDIR}/cards COMPONENT program)
install(FILES cmake/package/evenbevel.bash DESTINATION ${CMAKE_INSTALL_DATADIR}/bash-completion/completions
  RENAME evenbevel COMPONENT program)
install(FILES cmake/package/_evenbevel DESTINATION ${CMAKE_INSTALL_DATADIR}/zsh/vendor-completions COMPONENT program)
install(FILES cmake/package/evenbevel.fish DESTINATION ${CMAKE_INSTALL_DATADIR}/fish/vendor_completions.d
  COMPONENT program)

set(CPACK_GENERATOR DEB)
set(CPACK_PACKAGE_VENDOR "the authors of evenbevel")
set(CPACK_PACKAGE_CONTACT "the authors of evenbevel <authors@evenbevel.invalid>")
set(CPACK_PACKAGE_DESCRIPTION_SUMMARY "camera and printed card as a gauge for knife grinding")
set(CPACK_PACKAGE_DESCRIPTION
"A knife maker's phone or USB camera and a printed card measure the scribe
lines or the ground edge against the middle of the blade, the two faces
against each other and the cross-section at the heel, each number with its
95 % interval. It says where to grind and how much, keeps each knife's
record, does the set-up sums and serves a page for the phone at the grinder.")
set(CPACK_PACKAGING_INSTALL_PREFIX /usr)
set(CPACK_STRIP_FILES ON)
set(CPACK_INSTALL_DEFAULT_DIRECTORY_PERMISSIONS
  OWNER_READ OWNER_WRITE OWNER_EXECUTE GROUP_READ GROUP_EXECUTE WORLD_READ WORLD_EXECUTE)
# The program alone: neither the static library nor its headers.
set(CPACK_COMPONENTS_ALL program)
set(CPACK_COMPONENTS_GROUPING ALL_COMPONENTS_IN_ONE)
set(CPACK_DEB_COMPONENT_INSTALL ON)
set(CPACK_DEBIAN_FILE_NAME DEB-DEFAULT)
set(CPACK_DEBIAN_PACKAGE_SECTION graphics)
set(CPACK_DEBIAN_PACKAGE_PRIORITY optional)
set(CPACK_DEBIAN_PACKAGE_SHLIBDEPS ON)
set(CPACK_DEBIAN_PACKAGE_SUGGESTS xdg-utils)  # --open
set(CPACK_DEBIAN_PACKAGE_CONTROL_STRICT_PERMISSION ON)
include(CPack)
