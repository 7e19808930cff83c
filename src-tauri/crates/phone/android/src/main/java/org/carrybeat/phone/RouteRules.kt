package org.carrybeat.phone

import android.media.AudioDeviceInfo

/** Where media sounds, by the kinds of the output devices that are there. Calls nothing of the system. */
internal object RouteRules {
    const val SPEAKER = "speaker"
    const val EARPIECE = "earpiece"
    const val WIRED = "wired"
    const val WIRELESS = "wireless"
    const val OTHER = "other"

    /**
     * The one of several that Android plays media through: what is carried on the head or plugged in comes before the
     * phone's own speaker, a wireless one before a wired one. Source: from memory of the platform's audio policy;
     * newer versions prefer what was connected last, which from API 33 on is asked for instead.
     */
    private val ORDER = listOf(WIRELESS, WIRED, OTHER, SPEAKER, EARPIECE)

    /** Where media sounds if these are there. None at all is not the speaker. */
    fun heard(kinds: Iterable<Int>): String {
        val routes = kinds.mapNotNull(::of)
        return ORDER.firstOrNull { it in routes } ?: OTHER
    }

    /** The route of one kind; `null` if media never sounds there. */
    fun of(kind: Int): String? =
        when (kind) {
            AudioDeviceInfo.TYPE_BUILTIN_SPEAKER,
            AudioDeviceInfo.TYPE_BUILTIN_SPEAKER_SAFE,
            -> SPEAKER
            AudioDeviceInfo.TYPE_BUILTIN_EARPIECE -> EARPIECE
            AudioDeviceInfo.TYPE_WIRED_HEADSET,
            AudioDeviceInfo.TYPE_WIRED_HEADPHONES,
            AudioDeviceInfo.TYPE_LINE_ANALOG,
            AudioDeviceInfo.TYPE_LINE_DIGITAL,
            AudioDeviceInfo.TYPE_AUX_LINE,
            AudioDeviceInfo.TYPE_USB_DEVICE,
            AudioDeviceInfo.TYPE_USB_ACCESSORY,
            AudioDeviceInfo.TYPE_USB_HEADSET,
            -> WIRED
            AudioDeviceInfo.TYPE_BLUETOOTH_A2DP,
            AudioDeviceInfo.TYPE_HEARING_AID,
            AudioDeviceInfo.TYPE_BLE_HEADSET,
            AudioDeviceInfo.TYPE_BLE_SPEAKER,
            AudioDeviceInfo.TYPE_BLE_BROADCAST,
            -> WIRELESS
            // A headset's call channel, the call itself, the radio, the car's bus: they may be there all the time.
            AudioDeviceInfo.TYPE_BLUETOOTH_SCO,
            AudioDeviceInfo.TYPE_TELEPHONY,
            AudioDeviceInfo.TYPE_FM,
            AudioDeviceInfo.TYPE_BUS,
            -> null
            else -> OTHER
        }
}
