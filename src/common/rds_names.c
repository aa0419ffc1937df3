/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Names of RDS groups and programme types: public tables of both regions; 24 to 26 of North
 * America from memory. */
#include <config.h>

#include <sidecomb/rds.h>

static const char *const types_rds[32] = {"none",
                                          "News",
                                          "Current affairs",
                                          "Information",
                                          "Sport",
                                          "Education",
                                          "Drama",
                                          "Culture",
                                          "Science",
                                          "Varied",
                                          "Pop music",
                                          "Rock music",
                                          "Easy listening",
                                          "Light classical",
                                          "Serious classical",
                                          "Other music",
                                          "Weather",
                                          "Finance",
                                          "Children's programmes",
                                          "Social affairs",
                                          "Religion",
                                          "Phone-in",
                                          "Travel",
                                          "Leisure",
                                          "Jazz music",
                                          "Country music",
                                          "National music",
                                          "Oldies music",
                                          "Folk music",
                                          "Documentary",
                                          "Alarm test",
                                          "Alarm"};

static const char *const types_rbds[32] = {"none",
                                           "News",
                                           "Information",
                                           "Sports",
                                           "Talk",
                                           "Rock",
                                           "Classic rock",
                                           "Adult hits",
                                           "Soft rock",
                                           "Top 40",
                                           "Country",
                                           "Oldies",
                                           "Soft",
                                           "Nostalgia",
                                           "Jazz",
                                           "Classical",
                                           "Rhythm and blues",
                                           "Soft rhythm and blues",
                                           "Language",
                                           "Religious music",
                                           "Religious talk",
                                           "Personality",
                                           "Public",
                                           "College",
                                           "Spanish talk",
                                           "Spanish music",
                                           "Hip hop",
                                           "unassigned",
                                           "unassigned",
                                           "Weather",
                                           "Emergency test",
                                           "Emergency"};

const char *sc_rds_programme_type(enum sc_rds_region region, unsigned pty)
{
  return (region == SC_RDS_REGION_RBDS ? types_rbds : types_rds)[pty & 31];
}

const char *sc_rds_group_name(unsigned type)
{
  static const char names[SC_RDS_GROUP_TYPES][4] = {
      "0A",  "0B",  "1A",  "1B",  "2A",  "2B",  "3A",  "3B",  "4A",  "4B",  "5A",
      "5B",  "6A",  "6B",  "7A",  "7B",  "8A",  "8B",  "9A",  "9B",  "10A", "10B",
      "11A", "11B", "12A", "12B", "13A", "13B", "14A", "14B", "15A", "15B"};
  return names[type % SC_RDS_GROUP_TYPES];
}
