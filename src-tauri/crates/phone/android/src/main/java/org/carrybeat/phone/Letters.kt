package org.carrybeat.phone

import android.webkit.WebView
import kotlin.math.roundToInt

/**
 * How large the phone's owner wants letters. The card of a run is as large as it goes: letters of twice the size would
 * push its keys away. So the system does not zoom the page; its pages of text follow by the size that they begin with.
 */
internal object Letters {
    private const val PAGE = 16
    private const val LEAST = 8
    private const val MOST = 72

    fun lay(view: WebView) {
        view.settings.textZoom = 100
        view.settings.defaultFontSize = size(view.resources.configuration.fontScale)
    }

    /** CSS px, where a browser's own are 16. */
    fun size(scale: Float): Int = (PAGE * scale).roundToInt().coerceIn(LEAST, MOST)
}
