/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_TESTS_XML_H
#define PENDRIFT_TESTS_XML_H

#include <stdbool.h>
#include <stddef.h>

/* Pictures, looked at by somebody else's XML parser: xmllint of libxml2. */

/* Whether xmllint is there. Fails the test where it is not but PENDRIFT_NEED_XMLLINT is set. */
bool xml_there(void);

/* Whether the text is well-formed XML. What xmllint has to say goes to stderr. */
bool xml_well_formed(const char *text, size_t length);

#endif
